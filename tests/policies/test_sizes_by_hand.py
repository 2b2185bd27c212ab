"""What the sizes of work are asked for and proved by, in one house of round numbers, worked out by hand.

The calculations themselves are held to published values in `tests/published`; here stands which air, which friction and which limit
policy gives them. Common practice of the trade: a return at 0.06 in. w.c. a 100 ft, flexible duct pulled to 4 % of compression, at most
700 fpm in it, 300 fpm and 2 cfm a square inch at a filter grille, 60 % of the air through an added return. Air through an opening:
Q = 1.07 A sqrt(dP) in cfm, in2 and Pa (Building Science Corporation, RR-0005).
"""

from math import pi, sqrt
from types import MappingProxyType

import pytest

from airwarrant.job.dictionary import KINDS
from airwarrant.job.subject import Subject
from airwarrant.policy.model import Policy
from airwarrant.rules.judge import Judge
from airwarrant.rules.prepared import Prepared
from airwarrant.sizing.line import size_line
from airwarrant.sizing.sized import OneSize
from policies.one_of_each import House, policy_of

#: Three tons at sea level, at 375 cfm a ton; less air for its heat; a bedroom of 40 cfm behind a door of 32 in.
NUMBERS = {
    "house.tons": 3.0, "house.altitude": 0.0, "house.heat_min_flow": 900.0, "house.heating_flow": 900.0, "house.heat_output": 0.0,
    "room.flow": 40.0, "room.door_width": 32.0, "room.undercut": 0.5, "room.transfer_area": 0.0,
    "elbow.return_opening": 200.0, "elbow.supply_opening": 160.0, "route.diameter": 30.0,
}  # fmt: skip
DESIGN = 3 * 375.0
ADDED = 0.6 * DESIGN
FLEX = {"material": "flex", "compression_pct": 4.0}


@pytest.fixture(scope="module")
def policy() -> Policy:
    return policy_of("clay-hollow")


def _sizes(policy: Policy, task: str, place: str, **otherwise: float) -> tuple[OneSize, ...]:
    numbers = {**NUMBERS, **{name.replace("__", "."): value for name, value in otherwise.items()}}
    kinds = {name: (Subject(name, name, MappingProxyType({"undercut_ok": "yes"})),) for name in KINDS}
    judge = Judge(Prepared(policy), kinds, House(policy, numbers).source)
    sized = size_line(policy, policy.tasks[task], kinds[place][0], judge)
    assert sized is not None
    return sized.sizes


def _asked(one: OneSize) -> dict[str, object]:
    assert one.answered is not None
    return dict(one.answered.done.inputs)


@pytest.mark.parametrize(
    ("task", "place", "flow"),
    [("add-return", "route", ADDED), ("upsize-return", "return", DESIGN), ("bedroom-return", "room", 40.0)],
)
def test_a_return_duct_carries_its_air_at_the_friction_of_returns_and_is_no_faster_than_700_fpm(
    policy: Policy, task: str, place: str, flow: float
) -> None:
    duct = _sizes(policy, task, place)[0]
    assert _asked(duct) == {"flow_cfm": pytest.approx(flow), "friction_inwc_per_100ft": 0.06, **FLEX}
    (proof,) = duct.proofs
    assert proof.limit is not None
    assert proof.answered is not None
    assert (proof.proof.must_be, proof.limit.name, proof.limit.value) == ("at most", "return_velocity_most", 700)
    assert proof.answered.value == pytest.approx(flow / (pi * (float(duct.value or 0) / 12) ** 2 / 4), rel=1e-6)
    assert {key: proof.answered.done.inputs[key] for key in FLEX} == FLEX


def test_the_grille_of_an_added_return_takes_2_cfm_a_square_inch_in_steps_of_20_and_300_fpm_at_its_face(
    policy: Policy,
) -> None:
    grille = _sizes(policy, "add-return", "route")[1]
    assert grille.said is not None
    assert grille.said.value == pytest.approx(ADDED / 2)  # 337.5
    assert (grille.value, grille.governed) == (340, "table")
    (proof,) = grille.proofs
    assert proof.limit is not None
    assert proof.answered is not None
    assert (proof.limit.name, proof.limit.value) == ("grille_face_most", 300)
    assert proof.answered.value == pytest.approx(ADDED / (340 / 144))


def test_all_grilles_together_are_those_of_the_table_and_as_quiet(policy: Policy) -> None:
    (grilles,) = _sizes(policy, "enlarge-filter-grille", "house")
    assert (grilles.value, grilles.governed) == (600, "table")
    loading, face = grilles.proofs
    said = [
        (p.limit.name, p.limit.value, round(p.answered.value, 3)) for p in (loading, face) if p.limit and p.answered
    ]
    assert said == [("grille_loading", 2, DESIGN / 600), ("grille_face_most", 300, DESIGN / 600 * 144)]


@pytest.mark.parametrize(("heat", "loading"), [(1_100.0, DESIGN / 600), (1_190.0, 1_190 / 600)])
def test_the_air_path_is_sized_for_the_larger_of_cooling_and_heating(
    policy: Policy, heat: float, loading: float
) -> None:
    (grilles,) = _sizes(policy, "enlarge-filter-grille", "house", house__heat_min_flow=heat)
    assert grilles.proofs[0].answered is not None
    assert grilles.proofs[0].answered.value == pytest.approx(loading)


def test_a_path_back_is_sized_for_2_pa_at_the_door_that_is_there_trimmed_to_an_inch(policy: Policy) -> None:
    area, height, jump = _sizes(policy, "transfer-grille", "room", room__flow=150)
    asked = {"flow_cfm": 150, "limit_pa": 2, "door_width_in": 32, "undercut_in": 1}
    for one in (area, height, jump):
        assert {key: value for key, value in _asked(one).items() if key in asked} == asked
    assert area.answered is not None
    # A square inch for each 2.67 cfm is the trade's shortcut; what the pressure asks for beside the gap of 32 in2 is more, and stands.
    assert area.said is not None
    assert (round(area.said.value, 1), area.said.name) == (56.2, "transfer_area_by_flow")
    assert area.answered.value == pytest.approx(150 / (1.07 * sqrt(2)) - 32, rel=0.01)
    assert area.governed == "calculation"
    assert (_asked(height)["net_free_ratio"], _asked(height)["grille_width_in"]) == (0.75, 12)


def test_a_door_is_trimmed_by_quarter_inches_until_its_gap_is_enough(policy: Policy) -> None:
    (gap,) = _sizes(policy, "undercut-door", "room")
    # 40 cfm at 5 Pa need 16.7 in2: half an inch under 32 in gives 16, three quarters 24.
    assert (40 / (1.07 * sqrt(5)) > 16, 40 / (1.07 * sqrt(5)) < 24, gap.value) == (True, True, 0.75)
    (proof,) = gap.proofs
    assert proof.answered is not None
    asked = {"flow_cfm": 40, "limit_pa": 5, "door_width_in": 32, "undercut_in": 0.75}
    assert {key: proof.answered.done.inputs[key] for key in asked} == asked
    wide, most = (
        _sizes(policy, "undercut-door", "room", room__flow=20)[0],
        _sizes(policy, "undercut-door", "room", room__flow=90)[0],
    )
    assert (wide.value, most.value) == (0.5, 1.0)  # never less than half an inch, never more than an inch


def test_where_a_code_limits_the_pressure_behind_doors_a_gap_is_an_inch_from_the_start() -> None:
    """Florida Building Code, Mechanical, section 601.4, as the policy cites it: a 1-inch undercut."""
    (gap,) = _sizes(policy_of("quillback-cove"), "undercut-door", "room", room__flow=20)
    assert (gap.said and gap.said.value, gap.value) == (1.0, 1.0)


def test_the_same_code_asks_for_50_square_inches_of_grille_for_each_100_cfm_three_quarters_free() -> None:
    area = _sizes(policy_of("quillback-cove"), "transfer-grille", "room", room__flow=150)[0]
    assert area.said is not None
    assert area.said.value == pytest.approx(
        1.5 * 50 * 0.75, rel=0.002
    )  # 2.67 cfm a square inch is 100 over 37.5, rounded
    assert area.size.governs == "larger"


def test_elbow_legs_and_plenums_are_as_wide_as_the_openings_of_the_new_unit(policy: Policy) -> None:
    back, ahead = _sizes(policy, "replace-elbow", "elbow")
    assert (back.said and back.said.value, ahead.said and ahead.said.value) == (
        pytest.approx(190),
        pytest.approx(152),
    )  # 95 %
    (back,) = _sizes(policy, "new-return-plenum", "plenum")
    (ahead,) = _sizes(policy, "new-supply-plenum", "plenum")
    assert (back.value, ahead.value) == (200, 160)
