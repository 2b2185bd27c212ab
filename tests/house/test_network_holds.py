"""What holds for every house: units and order play no part, more resistance never gives more air, a line less itself is nothing."""

from copy import deepcopy
from dataclasses import replace
from itertools import pairwise
from random import Random
from typing import Any

import numpy as np
import pytest
from house_of import (
    BALANCE,
    CFM,
    ELBOW,
    JOBS,
    RETURN,
    SEAL,
    after,
    assumptions,
    data,
    demo,
    item,
    network,
    record,
    targets,
    value,
)

from airwarrant.house.calibrate import curve_of
from airwarrant.house.changes import alter
from airwarrant.house.inputs import drawn_sets
from airwarrant.house.predict import Network, difference, prepare
from airwarrant.house.solved import solve_linear
from airwarrant.house.work import Work
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.shape import ITEM_KINDS
from airwarrant.units import convert

WORK: dict[str, tuple[Work, ...]] = {
    "1042": (ELBOW, RETURN, SEAL, *BALANCE, Work("undercut", "bed-2", 1.0)),
    "4471": (
        Work("repair-run", "bed-3-run"),
        Work("balance", "house"),
        Work("damper", "living"),
        Work("transfer", "bed-2", 49.0),
    ),
    "5560": (SEAL, Work("add-return-path", "hall-route", 14.0)),
    "2718": (Work("seal-return", "house"), Work("enlarge-grille", "platform-grille", 700.0)),
    "3390": (
        SEAL,
        Work("add-return-path", "living-route", 16.0),
        Work("repair-run", "bed-2-run"),
        Work("upsize-return", "hall-return", 18.0),
    ),
}


def settings(made: Network) -> list[str]:
    blower = made._house.record.new_blower
    assert blower is not None
    return [one.name for one in blower.settings]


# ----------------------------------------------------------------------------------------------------------------- units


def in_si(plain: dict[str, Any]) -> dict[str, Any]:
    """The same record written in SI."""

    def turned(block: dict[str, Any], kind: str) -> None:
        for field in KINDS[kind].fields.values():
            key = field.key or field.name
            if not field.unit or key not in block:
                continue
            one = block[key]
            if isinstance(one, dict):
                one["value"] = convert(one["value"], field.unit, field.si_unit)
                if "plus_minus" in one:
                    units = ("F diff", "K") if field.unit == "F" else (field.unit, field.si_unit)
                    one["plus_minus"] = convert(one["plus_minus"], *units)
            elif not isinstance(one, str):
                block[key] = convert(float(one), field.unit, field.si_unit)

    si = deepcopy(plain) | {"units": "si"}
    for block in (si["house"], si["old"], si["new"]):
        turned(block, HOUSE_KEY)
    for unit in ("old", "new"):
        for setting in si[unit]["blower"]["setting"]:
            setting["table"] = [
                [convert(s, "in. w.c.", "Pa"), convert(float(q), "cfm", "L/s")] for s, q in setting["table"]
            ]
    for kind in ITEM_KINDS:
        for block in si.get(kind, []):
            turned(block, kind)
    for visit in si["visit"]:
        turned(visit, HOUSE_KEY)
        for kind in ITEM_KINDS:
            for block in visit.get(kind, []):
                turned(block, kind)
    return si


@pytest.mark.parametrize("job", JOBS)
def test_a_record_in_si_gives_the_same_readings(job: str) -> None:
    """Every predicted reading and its ±, to 1e-12 of it where slopes decide; a plateau's draws are counted, not bounded."""
    one, other = demo(job), network(in_si(data(job)))
    for setting in settings(one):
        for work in ((), WORK[job]):
            a, b = (made.complete(after(made, setting, *work)) for made in (one, other))
            assert a.readings.keys() == b.readings.keys()
            for key, reading in a.readings.items():
                scale = abs(reading.value) + (reading.plus_minus or 0.0)
                assert b.readings[key].value == pytest.approx(reading.value, rel=1e-12, abs=1e-12 * scale), key
                assert b.readings[key].plus_minus == pytest.approx(reading.plus_minus, rel=1e-9, abs=1e-12 * scale), key


# ----------------------------------------------------------------------------------------------------------------- order


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("seed", range(3))
def test_the_order_of_items_and_readings_changes_nothing(job: str, seed: int) -> None:
    plain, draw = data(job), Random(seed)
    for kind in ITEM_KINDS:
        draw.shuffle(plain.get(kind, []))
        for visit in plain["visit"]:
            draw.shuffle(visit.get(kind, []))
    plain["visit"] = [dict(draw.sample(list(visit.items()), len(visit))) for visit in plain["visit"]]
    one, other = demo(job), network(plain)
    for setting in settings(one):
        a = one.complete(after(one, setting, *WORK[job]))
        b = other.complete(after(other, setting, *reversed(WORK[job])))
        assert {key: (r.value, r.plus_minus) for key, r in a.readings.items()} == {
            key: (r.value, r.plus_minus) for key, r in b.readings.items()
        }
        assert one.ranges(WORK[job], setting) == other.ranges(WORK[job], setting)


# ----------------------------------------------------------------------------------------------- the same, and another


@pytest.mark.parametrize("job", JOBS)
def test_one_record_gives_the_same_draws_and_another_gives_others(job: str) -> None:
    one, again = demo(job), network(data(job))
    assert np.array_equal(one._draws()[0].deviations, again._draws()[0].deviations)
    assert one.ranges(WORK[job], settings(one)[0]) == again.ranges(WORK[job], settings(one)[0])
    plain = data(job)
    plain["house"]["floor_area"] += 1
    assert not np.array_equal(one._draws()[0].deviations, network(plain)._draws()[0].deviations)


def test_draws_are_those_of_the_digest_and_the_point_comes_first() -> None:
    """PCG64 of numpy seeded by the first 128 bits of the digest; the point is no draw, so that decisions never rest on one."""
    made = demo("1042")
    sets = drawn_sets(made._house.inputs, made._house.record.digest, 500)
    generator = np.random.Generator(np.random.PCG64(int(made._house.record.digest[:32], 16)))
    assert np.array_equal(sets.deviations[:, 1:], generator.standard_normal((len(sets.names), 500)))
    assert not sets.deviations[:, 0].any()
    assert sets.count == 501


@pytest.mark.parametrize("work", [(), WORK["3390"]], ids=["none", "all"])
def test_on_a_plateau_the_answer_is_the_point_and_not_a_draw(work: tuple[Work, ...]) -> None:
    made = demo("3390")
    setting = made._setting("350 a ton")
    assert setting is not None
    found = after(made, "350 a ton", *work)
    altered = alter(made._house, made._base, made._linear, work, made._targets)
    point = solve_linear(altered, curve_of(setting.table), np.ones(made._linear.count), {})
    assert value(found, "airflow") * CFM == pytest.approx(float(point.flow[0]), rel=1e-9)


# ------------------------------------------------------------------------------------------------------------- monotone


@pytest.mark.parametrize("job", JOBS)
def test_more_of_any_resistance_never_gives_more_air(job: str) -> None:
    """Each piece and each branch in turn, 30 % up: neither blower nor that branch moves more (Rayleigh's law for networks)."""
    made = demo(job)
    setting = made._house.record.new_blower.settings[0]  # type: ignore[union-attr]
    curve, one = curve_of(setting.table), np.ones(made._linear.count)
    plain = alter(made._house, made._base, made._linear, (), {})
    before = solve_linear(plain, curve, one, {})
    for i in range(len(plain.links)):
        more = alter(made._house, made._base, made._linear, (), {})
        more.k[i] = more.k[i] * 1.3
        now = solve_linear(more, curve, one, {})
        assert float(now.flow[0]) <= float(before.flow[0]) * (1.0 + 1e-12), plain.links[i].id
        assert abs(float(now.flows[i, 0])) <= abs(float(before.flows[i, 0])) * (1.0 + 1e-12), plain.links[i].id
        assert float(now.static[0]) >= float(before.static[0]) * (1.0 - 1e-12)


def test_a_larger_return_never_gives_less() -> None:
    flows = [
        value(after(demo("1042"), "high", replace(RETURN, size=size)), "airflow")
        for size in (10.0, 12.0, 14.0, 16.0, 18.0, 20.0)
    ]
    assert all(a < b for a, b in pairwise(flows))


def test_a_larger_grille_never_gives_less_and_a_smaller_changes_nothing() -> None:
    made = demo("2718")
    sizes = (300.0, 400.0, 500.0, 700.0, 900.0)
    flows = [
        value(after(made, "high", Work("enlarge-grille", "platform-grille", size)), "grille_flow") for size in sizes
    ]
    assert flows[0] == pytest.approx(flows[1], rel=1e-12)
    assert all(a < b for a, b in pairwise(flows[1:]))


def test_more_free_area_at_a_door_never_gives_more_pressure() -> None:
    made = demo("4471")
    doors = [
        value(after(made, "medium", Work("transfer", "bed-2", area)), "door_pressure", "bed-2")
        for area in (0.1, 20.0, 49.0, 100.0)
    ]
    assert all(a > b for a, b in pairwise(doors))


# -------------------------------------------------------------------------------------------------------------- scaling


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_a_house_twice_as_large_answers_twice_as_large(factor: float) -> None:
    """All flows of the record times a factor, pressures as they are: every law is ``K q^n``, so every answer is times the factor."""
    plain = data("1042")
    visit = plain["visit"][0]
    for name in ("airflow", "register_flow", "grille_flow", "leakage_25", "leakage_return_25", "leakage_supply_25"):
        if isinstance(visit[name], dict):
            visit[name]["value"] *= factor
        else:
            visit[name] *= factor
    for block in (*visit["leak"], *visit["room"]):
        for name in ("leak_25", "flow"):
            if name in block:
                block[name] *= factor
    for unit in ("old", "new"):
        for setting in plain[unit]["blower"]["setting"]:
            setting["table"] = [[s, q * factor] for s, q in setting["table"]]
    one, other = demo("1042"), network(plain)
    for setting in settings(one):
        for work in ((), (SEAL,), (ELBOW, SEAL)):
            a, b = after(one, setting, *work), after(other, setting, *work)
            for name in ("airflow", "register_flow", "grille_flow", "return_leak", "supply_leak"):
                assert value(b, name) == pytest.approx(factor * value(a, name), rel=1e-6)
            for name in ("external_static", "return_static", "supply_static", "filter_drop"):
                assert value(b, name) == pytest.approx(value(a, name), rel=1e-6)


# ------------------------------------------------------------------------------------------------------ paired differences


@pytest.mark.parametrize("job", JOBS)
def test_a_scope_less_itself_is_nothing_for_sure(job: str) -> None:
    made = demo(job)
    for setting in settings(made):
        found = after(made, setting, *WORK[job])
        for key in found.columns:
            gap = difference(found, found, key)
            assert (gap.value, gap.sd) == (0.0, 0.0)
        span = made.gain_ranges(WORK[job], WORK[job], setting, list(found.columns))
        assert all((one.low, one.high) == (0.0, 0.0) for one in span.values())


@pytest.mark.parametrize("setting", ["medium", "high"])
def test_what_two_scopes_share_cancels_in_their_difference(setting: str) -> None:
    """A gain is known better than either answer: paired, the elbow's is sure to 35 cfm (2 sd) where answers are to 40 and 60."""
    made = demo("1042")
    whole, rest = after(made, setting, ELBOW), after(made, setting)
    key = ("house", "register_flow")
    gap = difference(whole, rest, key)
    apart = np.hypot(*(one.readings[key].plus_minus for one in (whole, rest)))
    assert 2.0 * gap.sd / CFM < 0.65 * apart
    span = made.gain_ranges([ELBOW], [], setting, [key])[key]
    assert span.low < gap.value < span.high
    assert span.low > 0.0


# ------------------------------------------------------------------------------------------------------------ names of ids


def test_ids_that_read_like_pieces_of_the_path_are_only_ids() -> None:
    """A room called coil, a leak called filter-grille, another called supply-leak on the return: nothing is mixed up."""
    names = {"living": "coil", "hall": "filter-grille", "bath": "rooms", "family": "other-rooms", "kitchen": "plenum"}
    leaks = {"filter-box": "return-duct", "return-box": "supply-leak", "take-offs": "branches"}

    def renamed(one: Any, key: str = "") -> Any:
        if isinstance(one, dict):
            return {name: renamed(inner, name) for name, inner in one.items()}
        if isinstance(one, list):
            return [renamed(inner) for inner in one]
        return {**names, **leaks}.get(one, one) if key in ("id", "room") else one

    one, plain = demo("1042"), data("1042")
    other = network({**renamed(plain), "id": plain["id"]})
    for setting in settings(one):
        a, b = after(one, setting, ELBOW, RETURN, SEAL), after(other, setting, ELBOW, RETURN, SEAL)
        for (key, name), reading in a.readings.items():
            assert b.readings[names.get(key, key), name].value == pytest.approx(reading.value, rel=1e-9), (key, name)


def test_two_elbows_and_the_one_that_was_read_counts() -> None:
    plain = data("1042")
    plain["elbow"] = [{"id": "another", "style": "square"}, *plain["elbow"]]
    one, other = demo("1042"), network(plain)
    assert value(after(other, "high", ELBOW), "airflow") == pytest.approx(
        value(after(one, "high", ELBOW), "airflow"), rel=1e-9
    )
    found = after(other, "high", Work("widen-elbow", "another"))
    assert value(found, "airflow") == pytest.approx(value(after(one, "high"), "airflow"), rel=1e-9)
    assert "another is not on the path that was read: no effect of a new one is counted" in found.notes


def test_an_elbow_of_style_none_is_no_piece() -> None:
    plain = data("1042")
    item(plain, "elbow", "roof-elbow")["style"] = "none"
    made = network(plain)
    assert not any("elbow" in piece.id for side in (made._house.back, made._house.ahead) for piece in side.pieces)
    assert any("do not add up" in note for note in made.calibration.notes)


def test_the_worst_a_leak_can_be_still_answers() -> None:
    plain = data("2718")
    item(plain["visit"][0], "leak", "platform-gaps")["leak_25"] = 1200
    made = network(plain)
    assert value(made.as_found(), "grille_flow") > 0.0
    assert made.calibration.conflict is not None


def test_prepare_needs_statics_and_a_flow() -> None:
    for name in ("return_static", "supply_static"):
        plain = data("1042")
        del plain["visit"][0][name]
        job = record(plain)
        assert prepare(job, assumptions(job.market), targets(job)) is None


def test_sealing_where_no_leak_was_found_changes_nothing_and_says_so() -> None:
    made = demo("5560")
    found = after(made, "medium", Work("seal-cabinet", "house"))
    assert value(found, "register_flow") == pytest.approx(value(after(made, "medium"), "register_flow"), rel=1e-12)
    assert "no leak was recorded where seal-cabinet closes one: no effect is counted" in found.notes
