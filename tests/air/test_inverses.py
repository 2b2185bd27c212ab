"""Formulas that are one another the other way round give back what they were given."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwarrant.air.blower import efficiency, electric_power
from airwarrant.air.leakage import return_leak_fraction, warmed_by_leak


@given(st.floats(0.1, 2.0), st.floats(10.0, 400.0), st.floats(0.05, 0.6))
def test_a_blowers_power_gives_back_its_efficiency(flow: float, static: float, share: float) -> None:
    assert efficiency(flow, static, electric_power(flow, static, share)) == pytest.approx(share)


@given(st.floats(0.0, 0.5), st.floats(290.0, 300.0), st.floats(310.0, 340.0))
def test_a_return_leak_is_told_from_the_warmth_it_brings(fraction: float, grille: float, source: float) -> None:
    unit = grille + warmed_by_leak(fraction, grille, source)
    assert return_leak_fraction(grille, unit, source) == pytest.approx(fraction, abs=1e-9)
