"""One meaning, one record: whatever the format, the order and the units."""

import json
from random import Random
from typing import Any

import pytest
import tomli_w
from whole_record import WHOLE, as_json, in_si, whole

from airwarrant.job.lookup import all_readings, positions
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord

RECORD = parse_job(WHOLE.encode(), "job.toml")


def shuffled(node: Any, random: Random, name: str = "") -> Any:
    """The same record with keys and items in another order; visits and fan settings keep theirs, tables too."""
    if isinstance(node, dict):
        keys = random.sample(list(node), len(node))
        return {key: shuffled(node[key], random, key) for key in keys}
    if isinstance(node, list) and name not in ("visit", "setting", "table", ""):
        return [shuffled(one, random, "one") for one in random.sample(node, len(node))]
    if isinstance(node, list) and name == "visit":
        return [shuffled(one, random, "one") for one in node]
    return node


def test_toml_and_json_have_one_digest() -> None:
    assert parse_job(as_json(whole()), "other.json").digest == RECORD.digest


def test_si_and_inch_pound_have_one_digest_and_the_same_values() -> None:
    si = parse_job(as_json(in_si(whole())), "si.json")
    assert si.digest == RECORD.digest
    values = {one.path: (one.value, one.plus_minus or 0.0) for one in all_readings(RECORD)}
    for one in all_readings(si):
        # Converting there and back leaves a few units in the last place of a double.
        assert (one.value, one.plus_minus or 0.0) == pytest.approx(values[one.path], rel=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_order_of_keys_and_items_does_not_change_the_digest(seed: int) -> None:
    data = shuffled(whole(), Random(seed))
    assert parse_job(tomli_w.dumps(data).encode(), "job.toml").digest == RECORD.digest
    assert parse_job(as_json(data), "job.json").digest == RECORD.digest


def test_visits_of_different_days_may_stand_in_any_order() -> None:
    data = whole()
    data["visit"].reverse()
    turned = parse_job(as_json(data), "job.json")
    assert turned.digest == RECORD.digest
    assert [visit.kind for visit in turned.visits] == ["test-in", "after-balance", "test-out"]
    assert [visit.index for visit in turned.visits] == [2, 1, 0]


def test_notes_unknown_words_and_written_defaults_do_not_change_the_digest() -> None:
    data = json.loads(as_json(whole()))
    data["note"] = "another"
    data["elbow"][0]["note"] = "seen from the ladder"
    del data["elbow"][0]["roof_access"]
    data["visit"][0]["external_static"] = {"value": 0.86, "state": "measured"}
    data["visit"][0]["date"] = data["dates"]["survey"]
    assert parse_job(as_json(data), "job.json").digest == RECORD.digest


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d["visit"][0].update(external_static=0.861),
        lambda d: d["visit"][0]["return_static"].update(plus_minus=0.04),
        lambda d: d["visit"][0]["airflow"].update(state="measured"),
        lambda d: d["room"][1].update(use="hall"),
        lambda d: d["dates"].update(permit="2026-08-01"),
        lambda d: d["override"][0].update(reason="another"),
        lambda d: d["new"]["blower"]["setting"].reverse(),
        lambda d: d["visit"].pop(),
        lambda d: d.update(demo=False),
        lambda d: d["appliance"][0].pop("zone"),
    ],
)
def test_whatever_matters_changes_the_digest(change: Any) -> None:
    data = json.loads(as_json(whole()))
    change(data)
    assert parse_job(as_json(data), "job.json").digest != RECORD.digest


@pytest.mark.parametrize(("text", "file"), [(WHOLE, "job.toml"), (as_json(whole()).decode(), "job.json")])
def test_every_position_leads_to_its_number_or_word(text: str, file: str) -> None:
    record = parse_job(text.encode(), file)
    values = {one.path: one.value for one in all_readings(record)}
    words = {f"{key}.{name}" for key, name in record.word_places}
    found = positions(record)
    assert set(found) == set(values) | words
    lines = text.split("\n")
    for path, position in found.items():
        line, column = map(int, position.split(":"))
        rest = lines[line - 1][column - 1 :]
        if path in words:
            key, _, name = path.partition(".")
            assert rest.startswith('"')
            word = rest[1 : rest.index('"', 1)]
            assert record.items[key].words.get(name, word) == word
        else:
            number = rest[: next((i for i, c in enumerate(rest) if c not in "-.0123456789"), len(rest))]
            assert float(number) == values[path]


def test_the_record_holds_what_the_file_says() -> None:
    record: JobRecord = RECORD
    assert (record.id, record.market, record.units, record.demo, record.file) == (
        "1042",
        "copper-basin",
        "ip",
        True,
        "job.toml",
    )
    assert record.told == "Bed 2 is höt"
    assert list(record.items) == ["bath", "bed-2", "closet", "hall-return", "house", "roof-elbow", "water-heater"]
    assert record.items["house"].words["old_form"] == "package-roof"
    assert record.items["house"].words["new_blower_kind"] == "fixed-speed"
    assert record.items["water-heater"].links == {"zone": "closet"}
    assert "roof_access" not in record.items["roof-elbow"].words
    assert record.new_blower
    assert [setting.name for setting in record.new_blower.settings] == ["medium", "high"]
    assert record.new_blower.settings[1].table[0] == (0.2, 1600.0)
    assert str(record.overrides[0].place) == "job.toml:120:1"
    assert [(choice.option, choice.accepted, choice.decision) for choice in record.choices] == [
        ("better", True, ""),
        ("", None, "declined"),
    ]


def test_a_reading_has_its_own_conditions_before_its_visits() -> None:
    visit = RECORD.visits[0]
    assert visit.readings["bed-2", "door_pressure"].conditions == {
        "filter": "loaded",
        "doors": "closed",
        "fan_setting": "high",
    }
    assert visit.readings["house", "return_static"].conditions == {"filter": "clean", "fan_setting": "high"}
    assert visit.readings["house", "return_static"].instrument == "manometer-2"
    assert visit.readings["house", "airflow"].state == "table"
    assert visit.readings["house", "external_static"].plus_minus is None


def test_the_doubt_of_a_temperature_is_converted_as_a_difference() -> None:
    si = parse_job(as_json(in_si(whole())), "si.json")
    one = si.visits[0].readings["house", "grille_temp"]
    assert (one.value, one.plus_minus) == pytest.approx((78.5, 1.8), rel=1e-12)
