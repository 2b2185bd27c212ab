"""Blower flow and leaks from several readings: against numpy's and scipy's least squares, against scipy's distributions, and by hand."""

from random import Random
from typing import Any

import numpy as np
import pytest
from house_of import CFM, INCHES, data, demo, network, network_or_none, without
from scipy.optimize import lsq_linear
from scipy.stats import chi2

from airwarrant.air.leakage import LEAK_EXPONENT, TEST_PRESSURE, leakage_at, pressure_of_leakage
from airwarrant.house.flows import (
    Agreement,
    Row,
    chi_square_above,
    settle_flows,
    temperature_share,
)

UNKNOWNS = 3
#: The shipped policy's.
AGREEMENT = Agreement(2.5, 0.05)


def row(name: str, weights: tuple[float, float, float], value: float, sd: float) -> Row:
    return Row(name, weights, np.array([value]), sd)


def some_rows(draw: Random) -> list[Row]:
    """Table, registers, grilles, two leakage tests, each with its own error."""
    flow, back, ahead = draw.uniform(300.0, 1500.0), draw.uniform(20.0, 200.0), draw.uniform(20.0, 200.0)
    truths = {
        "table": (1.0, 0.0, 0.0),
        "direct": (1.0, 0.0, 0.0),
        "registers": (1.0, 0.0, -1.0),
        "grilles": (1.0, -1.0, 0.0),
        "return-test": (0.0, 1.0, 0.0),
        "supply-test": (0.0, 0.0, 1.0),
    }
    rows = []
    for name, weights in truths.items():
        sd = draw.uniform(0.02, 0.1) * max(abs(flow * weights[0]), 50.0)
        true = weights[0] * flow + weights[1] * back + weights[2] * ahead
        rows.append(row(name, weights, true + draw.gauss(0.0, sd), sd))
    return rows


def whitened(rows: list[Row]) -> tuple[np.ndarray, np.ndarray]:
    a = np.array([[float(w) for w in one.weights] for one in rows]) / np.array([[one.sd] for one in rows])
    return a, np.array([float(one.value[0]) / one.sd for one in rows])


@pytest.mark.parametrize("seed", range(60))
def test_least_squares_is_that_of_numpy(seed: int) -> None:
    rows = some_rows(Random(seed))
    a, b = whitened(rows)
    expected = np.linalg.lstsq(a, b, rcond=None)[0]
    found = settle_flows(rows, 1, AGREEMENT)
    if (expected > 0.0).all():
        assert [found.flow[0], found.return_leak[0], found.supply_leak[0]] == pytest.approx(expected, rel=1e-9)
    # Standard deviations: the diagonal of (A'A)^-1, JCGM 100:2008 annex H.3 in matrix form; numpy's QR as another way to it.
    r = np.linalg.qr(a, mode="r")
    assert found.sd == pytest.approx(np.sqrt(np.diag(np.linalg.inv(r) @ np.linalg.inv(r).T)), rel=1e-9)


@pytest.mark.parametrize("seed", range(60))
def test_residuals_are_normalised_by_their_own_spread(seed: int) -> None:
    """W. Baarda's w-test: residual over ``sqrt(sd^2 - a C a')``, from the hat matrix of numpy's QR. (Formula from memory.)"""
    rows = some_rows(Random(seed))
    a, b = whitened(rows)
    q, _ = np.linalg.qr(a)
    hat = q @ q.T
    off = b - hat @ b
    found = settle_flows(rows, 1, AGREEMENT)
    if np.linalg.lstsq(a, b, rcond=None)[0].min() > 0.0:
        for i, one in enumerate(rows):
            if 1.0 - hat[i, i] < 2e-3:  # next to nothing checks it
                continue
            assert found.residuals[one.name] == pytest.approx(off[i] / np.sqrt(1.0 - hat[i, i]), rel=1e-6, abs=1e-9)
        assert found.chi_square_p == pytest.approx(chi2.sf(float(off @ off), len(rows) - UNKNOWNS), rel=1e-9)


def test_over_many_honest_houses_residuals_and_chances_are_as_they_should_be() -> None:
    """With errors as large as the readings say, residuals are standard normal and chances of chi-square evenly spread."""
    draw = Random(4)
    found = [settle_flows(some_rows(draw), 1, AGREEMENT) for _ in range(3000)]
    inside = [one for one in found if min(one.return_leak[0], one.supply_leak[0]) > 1e-5]
    spread = np.std([value for one in inside for value in one.residuals.values()])
    assert spread == pytest.approx(1.0, abs=0.03)
    chances = np.array([one.chi_square_p for one in inside])
    assert [np.mean(chances < level) for level in (0.05, 0.25, 0.5, 0.75)] == pytest.approx(
        [0.05, 0.25, 0.5, 0.75], abs=0.03
    )


@pytest.mark.parametrize("free", range(1, 9))
@pytest.mark.parametrize("value", [0.0, 1e-6, 0.1, 1.0, 3.84, 9.0, 30.0, 200.0])
def test_chance_of_chi_square_is_scipys(free: int, value: float) -> None:
    assert chi_square_above(value, free) == pytest.approx(chi2.sf(value, free), rel=1e-9, abs=1e-300)


def test_chance_of_chi_square_as_printed() -> None:
    """Percentage points 3.841, 5.991, 7.815, 9.488 for 5 % and 1 to 4 degrees (NIST/SEMATECH e-Handbook, 1.3.6.7.4)."""
    for free, point in enumerate((3.841, 5.991, 7.815, 9.488), start=1):
        assert chi_square_above(point, free) == pytest.approx(0.05, abs=1e-4)


@pytest.mark.parametrize("seed", range(40))
def test_a_leak_is_never_below_nothing_and_the_rest_is_settled_with_it(seed: int) -> None:
    """Registers read above the blower's flow: scipy's bounded least squares is the oracle."""
    draw = Random(seed)
    rows = [
        row("table", (1.0, 0.0, 0.0), 1000.0, draw.uniform(20.0, 60.0)),
        row("registers", (1.0, 0.0, -1.0), draw.uniform(900.0, 1150.0), draw.uniform(20.0, 60.0)),
        row("grilles", (1.0, -1.0, 0.0), draw.uniform(900.0, 1150.0), draw.uniform(20.0, 60.0)),
        row("return-test", (0.0, 1.0, 0.0), draw.uniform(1.0, 60.0), draw.uniform(5.0, 60.0)),
        row("supply-test", (0.0, 0.0, 1.0), draw.uniform(1.0, 60.0), draw.uniform(5.0, 60.0)),
    ]
    a, b = whitened(rows)
    expected = lsq_linear(a, b, bounds=([0.0, 0.0, 0.0], [np.inf] * 3), tol=1e-14).x
    found = settle_flows(rows, 1, AGREEMENT)
    assert [found.flow[0], found.return_leak[0], found.supply_leak[0]] == pytest.approx(expected, rel=1e-5, abs=2e-3)


def test_every_set_is_settled_by_itself() -> None:
    rows = some_rows(Random(1))
    many = [Row(one.name, one.weights, np.repeat(one.value, 3) * np.array([1.0, 0.9, 1.2]), one.sd) for one in rows]
    found = settle_flows(many, 3, AGREEMENT)
    for i, factor in enumerate((1.0, 0.9, 1.2)):
        alone = settle_flows([Row(one.name, one.weights, one.value * factor, one.sd) for one in rows], 1, AGREEMENT)
        assert found.flow[i] == pytest.approx(alone.flow[0], rel=1e-12)


# ------------------------------------------------------------------------------------------------------ contradictions


def with_reading(name: str, change: float) -> dict[str, Any]:
    plain = data("1042")
    plain["visit"][0][name] *= change
    return plain


@pytest.mark.parametrize(
    ("name", "change"), [("register_flow", 0.8), ("register_flow", 1.2), ("grille_flow", 0.75), ("grille_flow", 1.2)]
)
def test_a_planted_contradiction_is_named(name: str, change: float) -> None:
    told = network(with_reading(name, change)).calibration
    assert told.conflict is not None
    assert f"house.{name}" in told.conflict
    assert max(abs(v) for v in told.residuals.values()) > 2.5 or (told.chi_square_p or 0.0) < 0.05
    assert any("do not agree" in note for note in told.notes)
    assert told.readings["house", "conflict"].value == pytest.approx(max(abs(v) for v in told.residuals.values()))


@pytest.mark.parametrize("change", [0.97, 1.0, 1.03])
def test_what_readings_may_be_off_is_no_contradiction(change: float) -> None:
    assert network(with_reading("register_flow", change)).calibration.conflict is None


def test_a_temperature_gain_that_no_leak_explains_is_named() -> None:
    plain = data("1042")
    plain["visit"][0]["unit_temp"] = 95.0  # 34 % of the air from the attic
    told = network(plain).calibration
    assert told.conflict is not None
    assert told.conflict[0] == "house.unit_temp"


def test_two_equal_readings_in_conflict_are_both_named_and_neither_is_repaired() -> None:
    """A flow grid and the table, equally doubted and far apart: the answer lies midway, and says that they do not agree."""
    plain = data("1042")
    visit = plain["visit"][0]
    without(visit, "register_flow", "grille_flow", "unit_temp", "room")
    table = demo("1042")._house.evidence.nominal / CFM
    visit["airflow"] = {"value": 1.35 * table, "state": "measured", "plus_minus": 0.1 * table}
    told = network(plain).calibration
    assert told.conflict is not None
    assert set(told.conflict) == {"house.airflow", "house.blower_table"}
    assert abs(told.residuals["house.airflow"]) == pytest.approx(abs(told.residuals["house.blower_table"]), rel=1e-9)
    assert told.residuals["house.airflow"] * told.residuals["house.blower_table"] < 0.0
    flow = told.flow[0] / CFM
    assert table < flow < 1.35 * table
    assert flow == pytest.approx(1.175 * table, rel=0.06)


def test_what_was_assumed_is_never_named_as_a_reading_in_conflict() -> None:
    plain = data("1042")
    visit = plain["visit"][0]
    without(visit, "leakage_25", "leakage_return_25", "leakage_supply_25", "leak", "unit_temp")
    visit["register_flow"] = 400
    told = network(plain).calibration
    assert not any(name.startswith("assumed") for name in told.residuals)
    assert told.conflict is None or not any(name.startswith("assumed") for name in told.conflict)


# --------------------------------------------------------------------------------------------------------- leaks alone


def test_a_leakage_test_alone_gives_half_the_leak_either_way_and_says_so() -> None:
    """Place even between the outermost port and the unit, test and law to 30 %: the leak is known to about half of itself (2 sd)."""
    plain = data("1042")
    del plain["leak"], plain["visit"][0]["leak"]
    without(plain["visit"][0], "register_flow", "grille_flow", "unit_temp")
    told = network(plain).calibration
    for leak in (told.return_leak, told.supply_leak):
        assert 0.45 <= 2.0 * leak[1] / leak[0] <= 0.65
    for side in ("return", "supply"):
        text = f"where the {side} side leaks was not recorded: its place follows from leakage test and flows"
        assert text in told.assumed


def test_the_place_read_halves_the_doubt_of_a_leak() -> None:
    plain = data("1042")
    without(plain["visit"][0], "register_flow", "grille_flow", "unit_temp")
    told = network(plain).calibration
    assert 2.0 * told.return_leak[1] / told.return_leak[0] < 0.35
    assert told.assumed == ()


def test_places_found_by_smoke_share_the_sides_test() -> None:
    """Three places on the return, one test of 90 cfm for the side: 30 cfm each, unless one has a test of its own."""
    plain = data("1042")
    del plain["visit"][0]["leak"]
    plain["visit"][0]["leakage_return_25"] = 90
    leaks = network(plain)._house.leaks["return"]
    assert [one.part for one in leaks] == pytest.approx([1.0 / 3.0] * 3)
    plain["visit"][0]["leak"] = [{"id": "return-box", "leak_25": 40}]
    parts = {one.id: one for one in network(plain)._house.leaks["return"]}
    assert parts["return-box"].name == "return-box.leak_25"
    assert parts["filter-box"].part * 90 == pytest.approx(25.0)
    assert network(plain).calibration.assumed == ()


def test_a_test_of_both_sides_together_is_halved_and_doubted() -> None:
    plain = data("1042")
    del plain["leak"], plain["visit"][0]["leak"]
    without(plain["visit"][0], "leakage_return_25", "leakage_supply_25", "register_flow", "grille_flow", "unit_temp")
    told = network(plain).calibration
    assert "only the leakage of both sides together was read: half of it is taken on each" in told.assumed
    assert 2.0 * told.supply_leak[1] / told.supply_leak[0] > 1.0
    plain["visit"][0]["leakage_supply_25"] = 104
    made = network(plain)
    assert made._house.leaks["return"][0].part * 190 == pytest.approx(86.0)


def test_a_place_beyond_the_units_static_is_a_contradiction() -> None:
    plain = data("1042")
    del plain["leak"], plain["visit"][0]["leak"]
    visit = without(plain["visit"][0], "unit_temp")
    visit |= {"leakage_return_25": 20, "grille_flow": 600}
    told = network(plain).calibration
    assert any("beyond the" in note and "leakage test and flows do not agree" in note for note in told.notes)


def test_a_tested_leak_of_nothing_leaks_nothing() -> None:
    plain = data("5560")
    for one in plain["visit"][0]["leak"]:
        one["leak_25"] = 0
    visit = plain["visit"][0]
    visit |= {"register_flow": 1008, "grille_flow": 1008}
    told = network(plain).calibration
    assert told.return_leak[0] / CFM < 0.1
    assert told.conflict is None


def test_test_and_place_are_one_law_both_ways() -> None:
    """ASTM E779's power law with the exponent 0.6 (from memory): at 25 Pa the test itself, at 100 Pa 4^0.6 of it."""
    tested = np.array([0.05])
    assert leakage_at(tested, TEST_PRESSURE, np.array([25.0]), LEAK_EXPONENT)[0] == pytest.approx(0.05)
    assert leakage_at(tested, TEST_PRESSURE, np.array([100.0]), LEAK_EXPONENT)[0] == pytest.approx(0.05 * 4.0**0.6)
    there = leakage_at(tested, TEST_PRESSURE, np.array([87.0]), LEAK_EXPONENT)
    assert pressure_of_leakage(tested, TEST_PRESSURE, there, LEAK_EXPONENT)[0] == pytest.approx(87.0)


def test_share_by_temperatures_is_a_mixing_balance() -> None:
    """78 °F at the grille, 85.1 at the unit, 128 in the attic: 7.1 of 50 degrees, 14.2 %."""
    f = [np.array([(t + 459.67) / 1.8]) for t in (78.0, 85.1, 128.0)]
    assert temperature_share(*f)[0] == pytest.approx(7.1 / 50.0)


def test_a_basement_leak_is_not_told_by_the_attics_temperature() -> None:
    plain = data("4471")
    for visit in plain["visit"]:
        visit["attic_temp"] = 120
    assert "house.unit_temp" not in network(plain).calibration.residuals


# ------------------------------------------------------------------------------------------------------ unmeasured drops


def drops(plain: dict[str, Any], side: str = "return") -> dict[str, float]:
    """Drop of each piece at the point [in. w.c.]."""
    made = network(plain)
    one = made._house.back if side == "return" else made._house.ahead
    found, _ = one.drops(made._linear, AGREEMENT.apart)
    return {piece.id: float(drop[0]) / INCHES for piece, drop in zip(one.pieces, found, strict=True)}


def unread(*names: str) -> dict[str, Any]:
    plain = data("1042")
    without(plain["visit"][0], *names)
    if "elbow" in names:
        plain["visit"][0].pop("elbow", None)
    if "plenum" in names or "collar_drop" in names:
        plain["visit"][0].pop("plenum", None)
    return plain


def test_what_the_static_leaves_is_split_as_the_computed_losses() -> None:
    plain = unread("filter_drop", "collar_drop")
    made = network(plain)
    found = drops(plain)
    left = 0.48 - 0.14 - 0.18
    usual = {piece.id: piece.clean(made._house.back.nominal) for piece in made._house.back.pieces}
    whole = usual["filter-grille"] + usual["collar"]
    assert found["filter-grille"] == pytest.approx(left * usual["filter-grille"] / whole, rel=1e-9)
    assert found["collar"] == pytest.approx(left * usual["collar"] / whole, rel=1e-9)
    assert found["return-duct"] == pytest.approx(0.14, abs=1e-12)


@pytest.mark.parametrize(
    "names",
    [
        ("filter_drop",),
        ("filter_drop", "collar_drop"),
        ("return_duct_drop", "elbow"),
        ("filter_drop", "return_duct_drop", "collar_drop", "elbow"),
    ],
)
def test_drops_add_up_to_the_static_in_every_set(names: tuple[str, ...]) -> None:
    made = network(unread(*names))
    drawn, _ = made._draws()
    for sets in (made._linear, drawn):
        for side in (made._house.back, made._house.ahead):
            found, _ = side.drops(sets, AGREEMENT.apart)
            assert sum(found) == pytest.approx(side.static_pa(sets), rel=1e-12)
            assert all((one > 0.0).all() for one in found)


def test_a_drop_nobody_read_is_doubted_by_forty_percent() -> None:
    """Two unread pieces of one side: each takes its weight to 40 % (2 sd), so that small ones vary by about 40 % of themselves."""
    made = network(unread("filter_drop", "collar_drop"))
    names = ("return.filter-grille", "return.collar")
    for name in names:
        one = made._house.inputs.known[name]
        assert (one.value, 2.0 * one.sd) == (1.0, pytest.approx(0.40))
    found, _ = made._house.back.drops(made._linear, AGREEMENT.apart)
    collar = found[[piece.id for piece in made._house.back.pieces].index("collar")]
    up = 1 + made._linear.names.index("return.collar")
    down = up + len(made._linear.names)
    share = (collar[up] - collar[down]) / 2.0 / collar[0]
    filters = drops(unread(*("filter_drop", "collar_drop")))
    rest = filters["filter-grille"] / (filters["filter-grille"] + filters["collar"])
    assert 2.0 * share == pytest.approx(0.40 * rest, rel=0.02)


def test_a_port_read_high_raises_one_drop_and_lowers_the_next() -> None:
    made = demo("1042")
    found, _ = made._house.back.drops(made._linear, AGREEMENT.apart)
    up = 1 + made._linear.names.index("house.return_duct_drop")
    moved = [float(one[up] - one[0]) / INCHES for one in found]
    assert moved[1] == pytest.approx(0.01, abs=1e-9)  # half of the policy's 0.02
    assert moved[2] == pytest.approx(-0.01, abs=1e-9)
    assert [moved[0], moved[3]] == pytest.approx([0.0, 0.0], abs=1e-9)


def test_a_crushed_duct_shows_against_its_clean_loss() -> None:
    """Job 1042 with 0.34 in. w.c. over its duct: more than three times what 14 in. and 25 ft lose in good order."""
    plain = data("1042")
    visit = plain["visit"][0]
    visit |= {"return_duct_drop": 0.34, "return_static": -0.68, "external_static": 1.06}
    made = network(plain)
    check = next(one for one in made.calibration.drops if one.piece == "return-duct")
    assert check.ratio > 3.0
    assert made.found()["hall-return", "over_clean"].value == pytest.approx(check.ratio)
    sound = next(one for one in demo("1042").calibration.drops if one.piece == "return-duct")
    assert 1.0 < sound.ratio < 3.0


def test_a_reading_of_nothing_is_no_reading_of_flow() -> None:
    plain = data("1042")
    del plain["old"]["blower"]
    plain["visit"][0]["airflow"] = 0
    assert network_or_none(plain) is None
