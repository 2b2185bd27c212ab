"""Leaks and openings there and back, and a leak whose place is not known against a sum over its places."""

from math import fsum

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwarrant.air.leakage import LEAK_EXPONENT, TEST_PRESSURE, leakage_at, mean_leakage, pressure_of_leakage
from airwarrant.air.openings import opening_area, opening_resistance

flows, pressures = st.floats(1e-3, 1.0), st.floats(1.0, 500.0)


@given(flows, pressures)
def test_pressure_of_leakage_is_the_inverse_of_leakage(flow: float, pressure: float) -> None:
    there = leakage_at(flow, TEST_PRESSURE, pressure, LEAK_EXPONENT)
    assert pressure_of_leakage(flow, TEST_PRESSURE, there, LEAK_EXPONENT) == pytest.approx(pressure, rel=1e-12)


@given(st.floats(1e-3, 0.5))
def test_area_of_an_opening_is_the_inverse_of_its_resistance(area: float) -> None:
    assert opening_area(opening_resistance(area, 0.606), 0.606) == pytest.approx(area, rel=1e-12)


@pytest.mark.parametrize(("low", "high"), [(10.0, 120.0), (34.9, 119.6), (1.0, 5.0)])
def test_a_leak_that_may_sit_anywhere_leaks_the_mean_of_its_places(low: float, high: float) -> None:
    """The closed form against the midpoint rule on 20,000 places."""
    steps = 20_000
    places = (low + (high - low) * (i + 0.5) / steps for i in range(steps))
    summed = fsum(leakage_at(0.05, TEST_PRESSURE, place, LEAK_EXPONENT) for place in places) / steps
    assert mean_leakage(0.05, TEST_PRESSURE, low, high, LEAK_EXPONENT) == pytest.approx(summed, rel=1e-7)
