"""Calculations on air itself: its state, velocity pressure, the heat it carries."""

from airwarrant.air.fittings import velocity_pressure
from airwarrant.air.heating import density_at, sensible_heat, temperature_rise
from airwarrant.air.moist import density, density_ratio, humidity_ratio, pressure_at_altitude, volumetric_heat
from airwarrant.air.standard import STANDARD_DENSITY
from airwarrant.calculations.calculation import (
    Answer,
    Calculation,
    Impossible,
    not_negative,
    number,
    outside,
    positive,
)
from airwarrant.calculations.ranges import altitude_range

_HANDBOOK = "ASHRAE Handbook—Fundamentals 2017, ch. 1 (psychrometrics)"


def _air_state(altitude: float, temp: float, rh: float) -> Answer:
    """Pressure, density and sensible factor of air by altitude, temperature and humidity.

    ``p = 101325 (1 - 2.25577e-5 Z)^5.2559``, moist air as ideal gases. The sensible factor is ``60 rho cp``, 1.08
    Btu/(h cfm °F) for dry air at 70 °F and sea level; the density ratio is against that air. Valid -5000 to 36 000 ft,
    -148 to 212 °F. ASHRAE Handbook—Fundamentals 2017, ch. 1, eq. 3, 5, 6, 20, 26.
    """
    warnings = altitude_range(altitude)
    if rh > 1.0:
        raise Impossible("rh", f"{rh * 100:g} %", "0 to 100")
    warnings += outside(temp, 173.15, 373.15, "temperature is outside {0:n} to {1}", "temperature")
    pressure = pressure_at_altitude(altitude)
    humidity = 0.0
    if rh > 0.0:
        humidity = humidity_ratio(temp, rh, pressure)
        if humidity < 0.0:
            raise Impossible("rh", "at this temperature the vapour alone would exceed the pressure of the air")
    return Answer(
        {
            "pressure": pressure,
            "density": density(temp, humidity, pressure),
            "density_ratio": density_ratio(temp, humidity, pressure),
            "sensible_factor": volumetric_heat(temp, humidity, pressure),
        },
        warnings,
    )


def _velocity_pressure(velocity: float, density_ratio: float) -> Answer:
    """Velocity pressure of moving air.

    ``VP = rho V^2 / 2``; the trade's ``(V/4005)^2`` is 0.2 % above it. Valid to 20 000 fpm, where air begins to
    compress. ASHRAE Handbook—Fundamentals, Duct Design.
    """
    warnings = outside(abs(velocity), 0.0, 101.6, "velocity is above {1}: air begins to compress", "velocity")
    return Answer({"pressure": velocity_pressure(velocity, STANDARD_DENSITY * density_ratio)}, warnings)


def _sensible_heat(flow: float, delta: float, altitude: float) -> Answer:
    """Sensible heat of an airflow over a temperature difference.

    ``q = 1.08 Q dT p/p0`` in Btu/h, cfm, °F: 60 × 0.075 lb/ft3 × 0.24 Btu/(lb °F). Dry air at 70 °F; moist air carries
    1 to 2 % more. Valid -5000 to 36 000 ft. ASHRAE Handbook—Fundamentals, ch. 18 (the factor), ch. 1 eq. 3 (altitude).
    """
    warnings = altitude_range(altitude)
    return Answer({"heat": sensible_heat(flow, delta, density_at(altitude))}, warnings)


def _temperature_rise(heat: float, flow: float, altitude: float) -> Answer:
    """Temperature rise of an airflow that takes up heat.

    ``dT = q / (1.08 Q p/p0)`` in °F, Btu/h, cfm: the inverse of `sensible-heat`, same range and source. Heat in Btu/h
    or kW.
    """
    warnings = altitude_range(altitude)
    return Answer({"rise": temperature_rise(heat, flow, density_at(altitude))}, warnings)


CALCULATIONS = (
    Calculation(
        "air-state",
        (number("altitude", "length"), number("temp", "temperature", 70.0), not_negative("rh", "share", 0.0)),
        (
            number("pressure", "barometric"),
            number("density", "density"),
            number("density_ratio"),
            number("sensible_factor", "volumetric-heat"),
        ),
        _air_state,
        _HANDBOOK,
        0.1,
    ),
    Calculation(
        "velocity-pressure",
        (number("velocity", "velocity"), positive("density_ratio", default=1.0)),
        (number("pressure", "pressure"),),
        _velocity_pressure,
        "definition, rho V²/2",
    ),
    Calculation(
        "sensible-heat",
        (not_negative("flow", "flow"), number("delta", "difference"), number("altitude", "length", 0.0)),
        (number("heat", "heat"),),
        _sensible_heat,
        "ASHRAE Handbook—Fundamentals, airside heat factors; altitude by ch. 1 eq. 3",
        2.0,
    ),
    Calculation(
        "temperature-rise",
        (number("heat", "heat"), positive("flow", "flow"), number("altitude", "length", 0.0)),
        (number("rise", "difference"),),
        _temperature_rise,
        "ASHRAE Handbook—Fundamentals, airside heat factors; altitude by ch. 1 eq. 3",
        2.0,
    ),
)
