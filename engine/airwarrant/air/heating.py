"""What a heating section does to the air that passes it, and the airflow its nameplate allows; altitude included."""

from airwarrant.air.elementwise import Value
from airwarrant.air.moist import pressure_at_altitude
from airwarrant.air.standard import STANDARD_DENSITY, STANDARD_PRESSURE, STANDARD_SPECIFIC_HEAT


def density_at(altitude: float) -> float:
    """Density [kg/m3] of standard air by the pressure of an altitude [m]: 0.075 lb/ft3 times ``p/p0``.

    The trade's rule for its airside factors (1.08 Btu/(h cfm °F) becomes 0.8986 at 5,000 ft); `pressure_at_altitude` has the range.
    """
    return STANDARD_DENSITY * pressure_at_altitude(altitude) / STANDARD_PRESSURE


def temperature_rise(heat: float, flow: Value, density: float) -> Value:
    """Rise [K] of an airflow [m3/s] of a density [kg/m3] that takes up heat [W]: ``q / (rho cp Q)``.

    ``dT = q / (1.08 Q)`` in Btu/h, cfm and °F for standard air. Dry air; moist air rises 1 to 2 % less.

    References
    ----------
    ASHRAE Handbook—Fundamentals, airside heat factors.
    """
    return heat / (density * STANDARD_SPECIFIC_HEAT * flow)


def flow_for_rise(heat: float, rise: float, density: float) -> float:
    """Airflow [m3/s] at which heat [W] makes a rise [K]: the inverse of `temperature_rise`."""
    return heat / (density * STANDARD_SPECIFIC_HEAT * rise)
