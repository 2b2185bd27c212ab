"""Humidity from dry and wet bulb, as a sling or an electronic psychrometer reads them."""

from airwarrant.air.moist import humidity_ratio


def humidity_of_wet_bulb(temperature: float, wet_bulb: float, pressure: float) -> float:
    """Humidity ratio [kg/kg dry air] from dry and wet bulb [K] and pressure [Pa], wet bulb above freezing.

    ``W = ((1093 - 0.556 t*) W* - 0.240 (t - t*)) / (1093 + 0.444 t - t*)`` in °F and Btu/lb, `W*` saturated at the wet
    bulb `t*`. A wet bulb above the dry bulb gives more than saturation, one too low for the dry bulb a negative ratio:
    readings that cannot be.

    References
    ----------
    ASHRAE Handbook—Fundamentals 2017, ch. 1, eq. 33 (IP).
    """
    t, t_wet = temperature * 1.8 - 459.67, wet_bulb * 1.8 - 459.67
    saturated = humidity_ratio(wet_bulb, 1.0, pressure)
    return ((1093.0 - 0.556 * t_wet) * saturated - 0.240 * (t - t_wet)) / (1093.0 + 0.444 * t - t_wet)
