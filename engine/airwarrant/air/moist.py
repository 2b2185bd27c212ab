"""Moist air: pressure by altitude, saturation, humidity ratio, density, enthalpy."""

from math import exp, log, pow

from airwarrant.air.standard import (
    GAS_CONSTANT_DRY_AIR,
    STANDARD_DENSITY,
    STANDARD_PRESSURE,
    STANDARD_SPECIFIC_HEAT,
    STANDARD_TEMPERATURE,
)

# Enthalpy is counted from dry air at 0 °F, as in the trade's own h = 0.24 t + W (1061 + 0.444 t).
_ZERO_F = 459.67 / 1.8
_BTU_PER_LB = 2326.0
_VAPOUR_HEAT = 0.444 * 4186.8


def pressure_at_altitude(altitude: float) -> float:
    """Barometric pressure [Pa] of the standard atmosphere at an altitude [m].

    ``p = 101325 (1 - 2.25577e-5 Z)^5.2559``; valid -1500 m (-5000 ft) to 11 000 m.

    References
    ----------
    ASHRAE Handbook—Fundamentals 2017, ch. 1, eq. 3.
    """
    return STANDARD_PRESSURE * pow(1.0 - 2.25577e-5 * altitude, 5.2559)


def saturation_pressure(temperature: float) -> float:
    """Saturation pressure [Pa] of water vapour over ice or water at a temperature [K].

    Over ice below 273.16 K, over water above; valid 173 K to 473 K.

    References
    ----------
    Hyland and Wexler 1983, as in ASHRAE Handbook—Fundamentals 2017, ch. 1, eq. 5 and 6.
    """
    t = temperature
    if t < 273.16:
        power = -5.6745359e3 / t + 6.3925247 - 9.677843e-3 * t + 6.2215701e-7 * t**2 + 2.0747825e-9 * t**3
        return exp(power - 9.484024e-13 * t**4 + 4.1635019 * log(t))
    power = -5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t**2 - 1.4452093e-8 * t**3
    return exp(power + 6.5459673 * log(t))


def humidity_ratio(temperature: float, relative_humidity: float, pressure: float) -> float:
    """Humidity ratio [kg/kg dry air] at a temperature [K], relative humidity [0..1] and pressure [Pa].

    ``W = 0.621945 pw / (p - pw)``. ASHRAE Handbook—Fundamentals 2017, ch. 1, eq. 20.
    """
    vapour = relative_humidity * saturation_pressure(temperature)
    return 0.621945 * vapour / (pressure - vapour)


def dry_air_density(temperature: float, humidity: float, pressure: float) -> float:
    """Mass of dry air in a volume of moist air [kg/m3]: the inverse of the specific volume of the handbook.

    ``1/v = p / (R T (1 + 1.607858 W))``. ASHRAE Handbook—Fundamentals 2017, ch. 1, eq. 26.
    """
    return pressure / (GAS_CONSTANT_DRY_AIR * temperature * (1.0 + 1.607858 * humidity))


def density(temperature: float, humidity: float, pressure: float) -> float:
    """Density of moist air [kg/m3], vapour included."""
    return (1.0 + humidity) * dry_air_density(temperature, humidity, pressure)


def density_ratio(temperature: float, humidity: float, pressure: float) -> float:
    """Density against dry air at 70 °F and 14.696 psia, which counts as standard: 1 there exactly."""
    return density(temperature, humidity, pressure) / dry_air_density(STANDARD_TEMPERATURE, 0.0, STANDARD_PRESSURE)


def volumetric_heat(temperature: float, humidity: float, pressure: float) -> float:
    """Sensible heat of a volume of moist air [J/(m3 K)]: 1.08 Btu/(h cfm °F) for standard dry air.

    ``rho_da (cp + 0.444 Btu/(lb °F) W)``, with `rho_da` scaled so that dry air at 70 °F and 14.696 psia is 0.075 lb/ft3.
    """
    reference = dry_air_density(STANDARD_TEMPERATURE, 0.0, STANDARD_PRESSURE)
    scaled = STANDARD_DENSITY * dry_air_density(temperature, humidity, pressure) / reference
    return scaled * (STANDARD_SPECIFIC_HEAT + _VAPOUR_HEAT * humidity)


def enthalpy(temperature: float, humidity: float) -> float:
    """Enthalpy of moist air [J/kg dry air], counted from dry air at 0 °F; temperature in K.

    ``h = 0.24 t + W (1061 + 0.444 t)`` in Btu/lb and °F. ASHRAE Handbook—Fundamentals 2017, ch. 1, eq. 30 (IP).
    """
    t = temperature - _ZERO_F
    return STANDARD_SPECIFIC_HEAT * t + humidity * (1061.0 * _BTU_PER_LB + _VAPOUR_HEAT * t)
