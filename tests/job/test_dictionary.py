"""The dictionary itself: names, keys, ranges and closed words hold together."""

import pytest

from airwarrant.job.dictionary import HOUSE_KEY, KINDS, UNKNOWN, Field
from airwarrant.units import UNITS, same_dimension

FIELDS = [(kind.name, field) for kind in KINDS.values() for field in kind.fields.values()]
IDS = [f"{kind}.{field.name}" for kind, field in FIELDS]


@pytest.mark.parametrize(("kind", "field"), FIELDS, ids=IDS)
def test_a_field_holds_together(kind: str, field: Field) -> None:
    assert len(field.name) <= 60
    assert field.title[:1] == field.title[:1].upper()
    assert all(len(word) <= 60 for word in field.words)
    match field.form:
        case "word":
            assert field.words[-1] == UNKNOWN
            assert len(set(field.words)) == len(field.words) >= 2
        case "link":
            assert field.kind in KINDS
        case _:
            assert {field.unit, field.si_unit} <= set(UNITS)
            assert same_dimension(field.unit, field.si_unit)
            if field.section != "derived":
                assert field.hard is not None
                assert field.hard[0] < field.hard[1]


def test_a_block_never_holds_two_fields_under_one_key() -> None:
    for kind in KINDS.values():
        for section in {field.section for field in kind.fields.values()}:
            keys = [f.key or f.name for f in kind.fields.values() if f.section == section]
            assert len(set(keys)) == len(keys), (kind.name, section)
            assert not {"id", "name", "note", "photo", "model", "serial", "blower"} & set(keys)


def test_a_number_has_one_unit_whatever_kind_it_is_of() -> None:
    """Tables by the name of a reading, such as the usual ranges, know names only."""
    units: dict[str, set[str]] = {}
    for _, field in FIELDS:
        if field.form in ("reading", "number"):
            units.setdefault(field.name, set()).add(field.unit)
    assert {name for name, several in units.items() if len(several) > 1} == set()


def test_every_hazard_of_the_walk_can_be_yes_no_or_unknown() -> None:
    house = KINDS[HOUSE_KEY].fields
    hazards = (
        *("asbestos_suspect", "paint_cut", "lead_paint", "mould_like", "pests", "live_wiring", "roof_edge"),
        *("attic_floor", "crawl_water", "heat_risk", "structure_cut", "gas_smell"),
    )
    for name in hazards:
        assert house[name].words == ("yes", "no", UNKNOWN), name
    for name in ("flame_moves", "exchanger_cracked"):
        assert KINDS["appliance"].fields[name].words == ("yes", "no", UNKNOWN)
