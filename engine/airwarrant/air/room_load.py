"""Sensible cooling load of a room by its parts, and what is known of a share made of such parts."""

from collections.abc import Mapping
from math import fsum, hypot, pow, sqrt

from airwarrant.air.moist import pressure_at_altitude, volumetric_heat
from airwarrant.air.standard import STANDARD_TEMPERATURE

_GRAVITY = 9.80665  # m/s2


def air_heat(altitude: float) -> float:
    """Sensible heat of a volume of standard air [J/(m3 K)] at an altitude [m]: 1.08 Btu/(h cfm °F) at sea level."""
    return volumetric_heat(STANDARD_TEMPERATURE, 0.0, pressure_at_altitude(altitude))


def conduction(transmittance: float, area: float, difference: float) -> float:
    """Heat [W] through a part of the envelope: ``U A dT``."""
    return transmittance * area * difference


def infiltration(
    leakage_area: float, height: float, difference: float, wind: float, indoor: float, ends: float, shelter: float
) -> float:
    """Air that leaks through a house [m3/s].

    ``Q = A sqrt(fs^2 |dT| + (fw v)^2)``, ``fs = (1 + R/2)/3 sqrt(g H / Ti)``, ``fw = C' (1 - R)^(1/3)``, with as much leakage
    in the floor as in the ceiling.

    Parameters
    ----------
    leakage_area : float
        Effective, at 4 Pa [m2].
    height : float
        From the lowest to the highest leak: of the heated and cooled storeys [m].
    difference : float
        Outdoor less indoor [K]; either sign drives the stack.
    wind : float
        At the height of the eaves [m/s].
    indoor : float
        [K]
    ends : float
        R, share of the leakage that is in floor and ceiling, 0..1.
    shelter : float
        C', 0.32 without anything near that breaks the wind, 0.24 in a suburb, 0.10 deep among buildings.

    References
    ----------
    Sherman and Grimsrud 1980, Measurement of infiltration using fan pressurization and weather data, LBL-10852; wind at the eaves
    and no leakage difference between floor and ceiling as in NOAA Technical Memorandum NOS OR&R 43 (2013), section 4.6.
    """
    stack = (1.0 + ends / 2.0) / 3.0 * sqrt(_GRAVITY * height / indoor)
    from_wind = shelter * pow(1.0 - ends, 1.0 / 3.0) * wind
    return leakage_area * sqrt(stack**2 * abs(difference) + from_wind**2)


def doubts_of_shares(
    loads: Mapping[str, Mapping[str, float]], of_a_part: float, of_a_room: float
) -> Mapping[str, float]:
    """± of each room's share of the house's load, as a share of that share.

    ``hypot(r (1 - s), r s_j of the other rooms, p (f - F))``: `s` the shares, `f` a room's fractions of its own load by part, `F` the
    house's. What is wrong with a part in every room alike (all glass taken too dark, the attic too cool) cancels so far as the room is
    made up as the house is; what is wrong with one room alone does not.

    Parameters
    ----------
    loads : mapping of room to (mapping of part to W)
        The same parts in every room; every room's sum above 0.
    of_a_part, of_a_room : float
        p and r: ± of a part in the whole house and of all of one room, as shares, all independent.

    Notes
    -----
    First order: the derivative of ``s = L / sum(L)`` with each part and each room scaled by its own factor.
    """
    names = sorted({part for parts in loads.values() for part in parts})
    house = {part: fsum(parts[part] for parts in loads.values()) for part in names}
    whole = fsum(house.values())
    shares = {room: fsum(parts.values()) / whole for room, parts in loads.items()}
    found = {}
    for room, parts in loads.items():
        by_room = hypot(1.0 - shares[room], *(share for other, share in shares.items() if other != room))
        by_part = hypot(*((parts[part] / shares[room] - house[part]) / whole for part in names))
        found[room] = hypot(of_a_room * by_room, of_a_part * by_part)
    return found
