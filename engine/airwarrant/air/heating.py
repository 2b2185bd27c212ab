"""Heat that air carries, the rise it takes, and the airflow a nameplate's rise allows; altitude included."""

from airwarrant.air.elementwise import Value
from airwarrant.air.moist import pressure_at_altitude
from airwarrant.air.standard import STANDARD_DENSITY, STANDARD_PRESSURE, STANDARD_SPECIFIC_HEAT


def density_at(altitude: float) -> float:
    """Density [kg/m3] of standard air by the pressure of an altitude [m]: 0.075 lb/ft3 times ``p/p0``.

    The trade's rule for its airside factors (1.08 Btu/(h cfm °F) becomes 0.8986 at 5,000 ft); `pressure_at_altitude`
    has the range.
    """
    return STANDARD_DENSITY * pressure_at_altitude(altitude) / STANDARD_PRESSURE


def sensible_heat(flow: Value, difference: float, density: float) -> Value:
    """Heat [W] that an airflow [m3/s] of a density [kg/m3] carries over a temperature difference [K]: ``rho cp Q dT``.

    1.08 Btu/h for each cfm and °F of standard air. Dry air; moist air carries 1 to 2 % more.

    References
    ----------
    ASHRAE Handbook—Fundamentals, airside heat factors.
    """
    return density * STANDARD_SPECIFIC_HEAT * flow * difference


def temperature_rise(heat: float, flow: Value, density: float) -> Value:
    """Rise [K] of an airflow [m3/s] of a density [kg/m3] that takes up heat [W]: `sensible_heat` the other way."""
    return heat / (density * STANDARD_SPECIFIC_HEAT * flow)


def flow_for_rise(heat: float, rise: float, density: float) -> float:
    """Airflow [m3/s] at which heat [W] makes a rise [K]: the inverse of `temperature_rise`."""
    return heat / (density * STANDARD_SPECIFIC_HEAT * rise)
