"""Every figure that policy makes of a record's numbers, worked out by hand from round ones.

Sums, gaps, shares and choices are arithmetic. Values taken from policy are the trade's common practice: 400 cfm a ton nominal and 375 to
size the air path by, 60 % through an added return, 2 cfm a square inch of grille, 2.67 cfm a square inch of a path back, a door of 30 in
with 8 in2 of cracks, elbow legs of 95 %. Air carries 1.08 Btu/h per cfm and degree at sea level; 1 kW is 3,412 Btu/h, 1 ton 12,000. At
2,000 ft air weighs 0.93 of that at sea level (U.S. Standard Atmosphere, 1976, pressure ratio, from memory).
"""

from math import pi
from types import MappingProxyType

import pytest

from airwarrant.job.dictionary import KINDS
from airwarrant.job.readings import Reading
from airwarrant.job.subject import Subject
from airwarrant.policy.model import Policy, Ref
from airwarrant.rules.judge import Judge
from airwarrant.rules.prepared import Prepared
from policies.one_of_each import policy_of

SEA = {"house.altitude": 0}
HIGH = {"house.altitude": 2000}
TONS = {"house.tons": 3}
LEGS = {"elbow.return_leg": 0.05, "elbow.supply_leg": 0.06}
RETURN = {"house.filter_drop": 0.10, "house.return_duct_drop": 0.06, "house.collar_drop": 0.02}
TRIM = {"undercut_ok": "yes"}

#: figure, numbers of one thing of each kind, what it comes to
ROWS: list[tuple[str, dict[str, float], float]] = [
    ("added_airflow", {**TONS, **SEA}, 675),
    ("added_grille_area", {**TONS, **SEA}, 337.5),
    ("airflow_per_ton", {"house.airflow": 1200, **TONS}, 400),
    ("cooling_design", TONS, 1125),
    ("cooling_airflow", {**TONS, **HIGH}, 1125 / 0.93),
    ("cooling_airflow", {**TONS, "house.altitude": 1999}, 1125),
    ("cooling_airflow", {**TONS, "house.altitude": -200}, 1125),
    ("cooling_airflow", {**TONS, "house.altitude": 11_000}, 1125 / 0.688),
    ("heating_airflow", {"house.heat_min_flow": 930, **HIGH}, 1000),
    # What is known and largest: cooling alone, cooling in thin air, heating.
    ("design_airflow", TONS, 1125),
    ("design_airflow", {**TONS, **HIGH, "house.heat_min_flow": 900}, 1125 / 0.93),
    ("design_airflow", {**TONS, "house.heat_min_flow": 1300}, 1300),
    ("design_airflow", {**TONS, **HIGH, "house.heat_min_flow": 1300}, 1300 / 0.93),
    ("door_gap", {"room.door_width": 32, "room.undercut": 1.5}, 48),
    ("door_free_area", {"room.door_width": 30, "room.undercut": 1, "room.transfer_area": 10}, 48),
    ("door_free_area", {"room.door_width": 30, "room.undercut": 1}, 38),
    ("door_speed", {"room.door_width": 30, "room.undercut": 1, "room.flow": 76}, 76 / (38 / 144)),
    ("door_transfer", {"room.transfer_area": 20}, 20),
    ("door_transfer", {}, 0),
    ("door_width_taken", {"room.door_width": 28}, 28),
    ("door_width_taken", {}, 30),
    ("elbow_return_legs", LEGS, 0.05),
    ("elbow_supply_legs", LEGS, 0.06),
    ("expected_return_size", {"house.expected_return_static": -0.3, "house.return_static": -0.2}, 0.3),
    ("flow_heating", {"house.heating_flow": 900, "house.airflow": 1200}, 900),
    ("flow_heating", {"house.airflow": 1200, "house.grille_flow": 1100, "house.register_flow": 1150}, 1200),
    ("rise_heat", {"house.heating_flow": 1000, "house.temperature_rise": 40, **SEA}, 43_200),
    ("rise_heat", {"house.heating_flow": 1000, "house.temperature_rise": 40, "house.altitude": -200}, 43_200),
    ("furnace_balance", {"house.heating_flow": 1000, "house.temperature_rise": 40, "house.heat_output": 48_000, **SEA}, 90),
    ("strip_balance", {"house.heating_flow": 500, "house.temperature_rise": 30, "house.strip_heat": 5, **SEA}, 1620 / 17.0607),
    ("grille_load", {"house.grille_flow": 800, "house.grille_area": 400}, 2),
    ("grille_room", {"grille.largest": 700, "grille.gross": 500}, 700),
    ("grille_total", {"grille.largest": 700, "grille.gross": 500}, 500),
    ("grilles_read", {"house.grille_area": 400, "grille.gross": 500}, 400),
    ("grilles_read", {"grille.gross": 500}, 500),
    ("house_pull", {"house.house_pressure": -2}, 2),
    ("leakage_outside_share", {"house.leakage_outside_25": 60, **TONS}, 5),
    ("leakage_per_area", {"house.leakage_25": 60, "house.floor_area": 1500}, 4),
    ("leakage_share", {"house.leakage_25": 120, **TONS}, 10),
    ("lesser_leg", LEGS, 0.05),
    ("lesser_leg", {"elbow.return_leg": 0.06, "elbow.supply_leg": 0.04}, 0.04),
    ("worst_leg", LEGS, 0.06),
    ("worst_leg", {"elbow.return_leg": 0.07, "elbow.supply_leg": 0.04}, 0.07),
    ("load_shares", {"room.load_share": 96}, 96),
    ("load_shares_gap", {"room.load_share": 96}, 4),
    ("load_shares_gap", {"room.load_share": 104}, 4),
    ("nominal_airflow", TONS, 1200),
    ("power_per_flow", {"house.power": 600, "house.airflow": 1200}, 0.5),
    ("return_diameters", {"return.diameter": 16}, 16),
    ("return_area_most", {"return.diameter": 16}, pi / 4 * 256),
    ("return_flow_known", {"house.grille_flow": 780, "house.airflow": 800}, 780),
    ("return_flow_known", {"house.airflow": 800, "house.heating_flow": 700, "house.register_flow": 790}, 800),
    ("return_velocity", {"house.grille_flow": 700, "return.diameter": 16}, 700 / (pi / 4 * 256 / 144)),
    ("return_gain", {"house.unit_temp": 78, "house.grille_temp": 75}, 3),
    ("return_gain", {"house.unit_temp": 75, "house.grille_temp": 78}, 3),
    ("return_leg_least", {"elbow.return_opening": 200, "elbow.supply_opening": 160}, 190),
    ("supply_leg_least", {"elbow.return_opening": 200, "elbow.supply_opening": 160}, 152),
    ("return_openings", {"elbow.return_opening": 200, "elbow.supply_opening": 160}, 200),
    ("supply_openings", {"elbow.return_opening": 200, "elbow.supply_opening": 160}, 160),
    ("return_parts", RETURN, 0.18),
    ("return_parts_elbow", {**RETURN, **LEGS}, 0.23),
    ("return_size", {"house.return_static": -0.2}, 0.2),
    # A gap has no sign: the parts may be more or less than the whole.
    ("return_parts_gap", {**RETURN, "house.return_static": -0.20}, 0.02),
    ("return_parts_gap", {**RETURN, "house.return_static": -0.16}, 0.02),
    ("return_parts_elbow_gap", {**RETURN, **LEGS, "house.return_static": -0.25}, 0.02),
    ("return_parts_elbow_gap", {**RETURN, **LEGS, "house.return_static": -0.21}, 0.02),
    ("supply_parts_gap", {"house.supply_static": 0.22, "house.branch_drop": 0.20}, 0.02),
    ("supply_parts_gap", {"house.supply_static": 0.18, "house.branch_drop": 0.20}, 0.02),
    ("supply_parts_coil", {"house.branch_drop": 0.20, "house.coil_drop": 0.08}, 0.28),
    ("supply_parts_coil_gap", {"house.supply_static": 0.30, "house.branch_drop": 0.20, "house.coil_drop": 0.08}, 0.02),
    ("supply_parts_coil_gap", {"house.supply_static": 0.26, "house.branch_drop": 0.20, "house.coil_drop": 0.08}, 0.02),
    ("supply_parts_elbow", {"house.branch_drop": 0.20, **LEGS}, 0.26),
    ("supply_parts_elbow_gap", {"house.supply_static": 0.28, "house.branch_drop": 0.20, **LEGS}, 0.02),
    ("supply_parts_elbow_gap", {"house.supply_static": 0.24, "house.branch_drop": 0.20, **LEGS}, 0.02),
    ("static_sum", {"house.return_static": -0.30, "house.supply_static": 0.18}, 0.48),
    ("static_gap", {"house.external_static": 0.50, "house.return_static": -0.30, "house.supply_static": 0.18}, 0.02),
    ("static_gap", {"house.external_static": 0.46, "house.return_static": -0.30, "house.supply_static": 0.18}, 0.02),
    ("rooms_area", {"room.area": 150}, 150),
    ("rooms_area_share", {"room.area": 150, "house.floor_area": 200}, 75),
    ("rooms_load", {"room.load": 9600}, 9600),
    ("rooms_load_share", {"room.load": 9600, "house.sensible_load": 10_000}, 96),
    ("rooms_load_gap", {"room.load": 9600, "house.sensible_load": 10_000}, 4),
    ("rooms_load_gap", {"room.load": 10_400, "house.sensible_load": 10_000}, 4),
    ("sea_level_airflow_per_ton", {"house.airflow": 1200, **TONS, **HIGH}, 372),
    ("size_share", {"house.tons": 2, "house.sensible_load": 20_000}, 120),
    ("split", {"house.unit_temp": 75, "house.supply_temp": 57}, 18),
    ("split_heat", {"house.airflow": 800, "house.unit_temp": 75, "house.supply_temp": 57, **SEA}, 15_552),
    ("split_heat_share", {"house.airflow": 800, "house.unit_temp": 75, "house.supply_temp": 57, "house.tons": 2, **SEA}, 64.8),
    # The total static less the return's share: 0.60 less 0.25.
    ("supply_budget", {}, 0.35),
    ("surface_over_dew_point", {"house.duct_surface_temp": 60, "house.space_dew_point": 58}, 2),
    ("systems_area_share", {"house.floor_area": 900, "house.house_area": 1800}, 50),
    ("transfer_area_by_flow", {"room.flow": 133.5}, 50),
    ("undercut_counted", {"room.undercut": 0.5}, 0.5),
    ("undercut_counted", {}, 0),
]  # fmt: skip
#: Figures that stand on how a jet through a door contracts, or on a word alone: `test_openings_published`, `test_tables_answer`.
ELSEWHERE = {"door_expected", "door_fit", "door_speed_jet", "hood_doubt_of_visit"}


@pytest.fixture(scope="module")
def policy() -> Policy:
    return policy_of("clay-hollow")


def _figure(policy: Policy, name: str, numbers: dict[str, float], words: dict[str, str]) -> float:
    kinds = {kind: (Subject(kind, kind, MappingProxyType(words)),) for kind in KINDS}

    def source(key: str, field: str, time: str) -> Reading | None:
        value = numbers.get(f"{key}.{field}")
        unit = KINDS[key].fields[field].unit
        return (
            None if value is None else Reading(value, unit, "measured", 0.0, "", None, None, "", MappingProxyType({}))
        )

    judge = Judge(Prepared(policy), kinds, source)
    number = judge.number(Ref("figure", name), kinds[policy.figures[name].each][0], "found")
    assert number is not None, judge.missing
    return number.value


@pytest.mark.parametrize(("name", "numbers", "value"), ROWS, ids=[f"{row[0]} {i}" for i, row in enumerate(ROWS)])
def test_a_figure_is(policy: Policy, name: str, numbers: dict[str, float], value: float) -> None:
    assert _figure(policy, name, numbers, {}) == pytest.approx(value, rel=1e-4, abs=1e-9)


@pytest.mark.parametrize("undercut", [0.5, 1.25])
def test_of_a_door_that_may_be_trimmed_an_inch_is_counted_whatever_the_gap_is_today(
    policy: Policy, undercut: float
) -> None:
    assert _figure(policy, "undercut_counted", {"room.undercut": undercut}, TRIM) == pytest.approx(1.0)


def test_every_figure_of_the_trade_is_here(policy: Policy) -> None:
    assert set(policy.figures) - {name for name, _, _ in ROWS} == ELSEWHERE
