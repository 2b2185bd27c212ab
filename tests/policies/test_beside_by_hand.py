"""What an owner reads beside each row of the return tables: the numbers of the very duct and grille that the heading speaks of.

Velocity is flow by area, by hand; friction and loss are those of the calculation, which `tests/published` holds to published values,
for the run that the heading names: 25 ft of flexible duct with one bend. A share of 60 % for an added return, 4 % compression, a bend
of one diameter, 700 fpm in a duct and 300 fpm at a grille are common practice.
"""

from math import pi

import pytest

from airwarrant.policy.model import Policy
from airwarrant.sizing.beside import Beside, beside
from calculations.asking import ask
from policies.one_of_each import policy_of


@pytest.fixture(scope="module")
def policy() -> Policy:
    return policy_of("clay-hollow")


def _rows(policy: Policy, table: str) -> list[tuple[Beside, float, dict[str, float]]]:
    """Each line beside a table, the cfm a ton of its heading, and its numbers by name."""
    return [
        (one, float(one.title.split()[1]), {name: value for name, _, value, _ in one.shown})
        for one in beside(policy, policy.tables[table])
    ]


@pytest.mark.parametrize(("table", "share"), [("return_diameter", 1.0), ("added_return_diameter", 0.6)])
def test_beside_a_diameter_stands_the_run_of_its_heading(policy: Policy, table: str, share: float) -> None:
    rows = _rows(policy, table)
    assert {title for _, title, _ in rows} == {350.0, 400.0}
    for one, per_ton, shown in rows:
        flow = one.key * per_ton * share
        assert shown["velocity_fpm"] == pytest.approx(flow / (pi / 4 * (one.answer / 12) ** 2), rel=2e-3)
        run = ask(
            "duct-run", flow_cfm=flow, diameter_in=one.answer, material="flex", compression_pct=4, length_ft=25, bends=1, radius_ratio=1
        )  # fmt: skip
        for name in ("friction_inwc_per_100ft", "loss_inwc"):
            assert shown[name] == pytest.approx(run[name], rel=1e-6)
        # A return that is faster than 700 fpm is noisy.
        assert one.word == ("pass" if round(shown["velocity_fpm"]) <= 700 else "fail")


def test_beside_a_grille_area_stands_the_air_through_it(policy: Policy) -> None:
    for one, per_ton, shown in _rows(policy, "return_grille_area"):
        flow = one.key * per_ton
        assert shown["face_fpm"] == pytest.approx(flow / (one.answer / 144), rel=2e-3)
        assert shown["cfm_per_in2"] == pytest.approx(flow / one.answer, rel=2e-3)
        assert one.word == ("pass" if round(shown["face_fpm"]) <= 300 else "fail")


@pytest.mark.parametrize(
    ("table", "limit", "unit"),
    [("return_diameter", 700, "fpm"), ("added_return_diameter", 700, "fpm"), ("return_grille_area", 300, "fpm")],
)
def test_no_row_is_held_to_more_than_the_air_may_do(policy: Policy, table: str, limit: float, unit: str) -> None:
    for one in beside(policy, policy.tables[table]):
        assert one.limit is not None
        assert (round(one.limit.value), one.limit.unit, one.must_be) == (limit, unit, "at most")
