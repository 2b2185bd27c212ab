"""A duct run: its straight part is `duct-friction`, its bends `fitting-loss`."""

import pytest

from calculations.asking import ask


@pytest.mark.parametrize(("flow", "diameter"), [(800, 16), (1200, 14), (120, 7)])
def test_a_run_is_its_straight_duct_and_its_bends(flow: float, diameter: float) -> None:
    duct = {"flow_cfm": flow, "diameter_in": diameter, "material": "flex", "compression_pct": 4, "length_ft": 25}
    run = ask("duct-run", **duct, bends=3, radius_ratio=1.5)
    straight = ask("duct-friction", **duct)
    bend = ask("fitting-loss", fitting="elbow-smooth", velocity_fpm=straight["velocity_fpm"], radius_ratio=1.5)
    assert run["straight_inwc"] == pytest.approx(straight["loss_inwc"], rel=1e-12)
    assert run["friction_inwc_per_100ft"] == pytest.approx(straight["friction_inwc_per_100ft"], rel=1e-12)
    assert run["bends_inwc"] == pytest.approx(3 * bend["loss_inwc"], rel=1e-9)
    assert run["loss_inwc"] == pytest.approx(run["straight_inwc"] + run["bends_inwc"], rel=1e-12)
    assert ask("duct-run", **duct)["bends_inwc"] == 0.0
