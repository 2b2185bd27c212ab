"""Calculations on duct leakage."""

from math import inf

from airwarrant.air.leakage import leakage_at, leakage_of_class, return_leak_fraction
from airwarrant.calculations.calculation import Answer, Calculation, Impossible, not_negative, number, outside, positive
from airwarrant.calculations.ranges import leak_pressure_range

_TEST_PRESSURE = 25.0
_SMALL_DIFFERENCE = 10.0 / 1.8  # K; below it, thermometers of ±1 °F leave a tenth of the flow or more in doubt


def _leakage_at_pressure(leakage: float, pressure: float, exponent: float) -> Answer:
    """Leakage of ducts at another pressure than the test's 25 Pa.

    ``Q = Q25 (P/25)^n``, n 0.60 in ASHRAE 152 and 0.65 in the leakage class. Valid for n 0.5 to 1 and 1 to 250 Pa.
    ASHRAE 152; ASTM E1554.
    """
    warnings = outside(exponent, 0.5, 1.0, "exponent is outside 0.5 (orifice) to 1 (laminar cracks)")
    warnings += leak_pressure_range(pressure)
    return Answer({"flow": leakage_at(leakage, _TEST_PRESSURE, pressure, exponent)}, warnings)


def _leakage_class(leakage_class: float, pressure: float, area: float) -> Answer:
    """Leakage of duct of a leakage class.

    ``F = CL dP^0.65`` in cfm per 100 ft2 of duct surface and in. w.c.; the class keeps its inch-pound number in every
    system of units. Valid to 10 in. w.c. SMACNA HVAC Air Duct Leakage Test Manual; ASHRAE Handbook—Fundamentals, Duct
    Design.
    """
    warnings = outside(pressure, 0.0, 2490.8891, "pressure is above {1}", "pressure")
    return Answer({"flow": leakage_of_class(leakage_class, pressure, area)}, warnings)


def _return_leak(grille_temp: float, unit_temp: float, source_temp: float, flow: float) -> Answer:
    """Share of the blower's air that leaks into the return, from three air temperatures.

    ``(T_unit - T_grille) / (T_source - T_grille)``. Dry mixing; heat through the duct wall reads as leakage, so an
    upper bound. Valid where the source differs from the room by 10 °F or more and the share comes out between 0 and 1.
    Energy balance of mixing.
    """
    difference = source_temp - grille_temp
    if difference == 0.0:
        raise Impossible("source_temp", "equals grille_temp: nothing can be told apart", "another temperature")
    fraction = return_leak_fraction(grille_temp, unit_temp, source_temp)
    warnings = outside(
        abs(difference), _SMALL_DIFFERENCE, inf, "source and grille are less than {0} apart", "difference"
    )
    warnings += outside(fraction, 0.0, 1.0, "the unit's temperature does not lie between grille and source")
    return Answer({"fraction": fraction, "flow": fraction * flow}, warnings)


CALCULATIONS = (
    Calculation(
        "leakage-at-pressure",
        (
            not_negative("leakage", "leakage-25", stem=""),
            positive("pressure", "small-pressure"),
            positive("exponent", default=0.6),
        ),
        (number("flow", "flow"),),
        _leakage_at_pressure,
        "power law; exponent of ASHRAE 152",
        5.0,
    ),
    Calculation(
        "leakage-class",
        (
            not_negative("leakage_class", stem="class"),
            not_negative("pressure", "pressure"),
            not_negative("area", "area", 100.0),
        ),
        (number("flow", "flow"),),
        _leakage_class,
        "SMACNA HVAC Air Duct Leakage Test Manual",
    ),
    Calculation(
        "return-leak",
        (
            number("grille_temp", "temperature"),
            number("unit_temp", "temperature"),
            number("source_temp", "temperature"),
            not_negative("flow", "flow"),
        ),
        (number("fraction"), number("flow", "flow")),
        _return_leak,
        "energy balance of two mixed streams",
    ),
)
