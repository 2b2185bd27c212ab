"""Units against pint, an independent unit library, and exact definitions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwarrant.units import UNITS, at_decimals, convert, fixed, parse_quantity

PINT = {
    "in. w.c.": "conventional_inch_H2O", "Pa": "Pa", "cfm": "ft**3/min", "L/s": "L/s", "m3/s": "m**3/s",
    "cfm/ton": "ft**3/min/refrigeration_ton", "L/s/kW": "L/s/kW", "W/cfm": "W/(ft**3/min)", "W": "W", "kW": "kW",
    "ton": "refrigeration_ton", "in": "inch", "ft": "ft", "mm": "mm", "m": "m", "in2": "inch**2", "ft2": "ft**2",
    "cm2": "cm**2", "m2": "m**2", "cfm/in2": "ft**3/min/inch**2", "fpm": "ft/min", "F": "degF", "C": "degC",
    "F diff": "delta_degF", "K": "delta_degC", "s": "s", "d": "day",
    "cfm/100 ft2": "ft**3/min/hundred_square_feet",
    "mph": "mph", "m/s": "m/s", "lb": "lb", "kg": "kg", "lb/ft3": "lb/ft**3", "kg/m3": "kg/m**3",
    "Btu/h/cfm/F": "Btu_it/hour/(ft**3/min)/delta_degF", "J/m3/K": "J/m**3/delta_degC",
    "h": "hour", "Btu/h": "Btu_it/hour", "kWh": "kWh", "h ft2 F/Btu": "hour*ft**2*delta_degF/Btu_it",
    "m2 K/W": "m**2*delta_degC/W",
    "in. w.c./100 ft": "conventional_inch_H2O/hundred_feet", "Pa/m": "Pa/m", "deg": "degree",
    "Btu/h/ft2/F": "Btu_it/hour/ft**2/delta_degF", "W/m2/K": "W/m**2/delta_degC",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(PINT))
def test_every_physical_unit_converts_as_pint_does(name: str) -> None:
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry()
    # pint has no conventional inch of water; 249.08891 Pa is NIST SP 811 (2008), appendix B.8.
    registry.define("conventional_inch_H2O = 249.08891 * pascal")
    registry.define("hundred_feet = 100 * foot")
    registry.define("hundred_square_feet = 100 * foot**2")
    for other in PINT:
        if UNITS[other].dimension == UNITS[name].dimension:
            expected = registry.Quantity(17.25, PINT[name]).to(PINT[other]).magnitude
            # 1e-6: the international-table and thermochemical Btu behind a ton differ by less than pint's own digits.
            assert convert(17.25, name, other) == pytest.approx(expected, rel=2e-6)


def test_units_that_pint_does_not_check_are_those_without_physics() -> None:
    assert set(UNITS) - set(PINT) == {"1", "%", "ppm", "year", "word", "money", "money/kWh", "money/therm"}


def test_length_against_pressure_is_refused() -> None:
    with pytest.raises(ValueError, match="length"):
        convert(1.0, "in", "in. w.c.")


@given(st.floats(-1e6, 1e6), st.sampled_from(sorted(PINT)))
def test_converting_there_and_back_changes_nothing_that_is_printed(value: float, name: str) -> None:
    for other in PINT:
        if UNITS[other].dimension == UNITS[name].dimension:
            back = convert(convert(value, name, other), other, name)
            assert back == pytest.approx(value, rel=1e-12, abs=1e-9)


def test_binary_noise_does_not_move_a_number_across_a_limit() -> None:
    assert at_decimals(0.1 + 0.2, "in. w.c.") == at_decimals(0.3, "in. w.c.")
    assert fixed(-0.0001, "in. w.c.") == "0.000"
    assert fixed(14.249999999999999, "%") == fixed(14.25, "%")


@pytest.mark.parametrize("text", ["400", "cfm", "400cfm", "4e2 cfm", "nan cfm", "400 furlong", "1_0 cfm", ""])
def test_what_is_no_quantity_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a number"):
        parse_quantity(text)


def test_a_quantity_is_a_number_a_space_and_a_unit() -> None:
    assert parse_quantity("400 cfm/ton") == (400.0, "cfm/ton")
    assert parse_quantity("-0.5 in. w.c.") == (-0.5, "in. w.c.")
