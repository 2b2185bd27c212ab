"""Sun on a clear day: where it stands, what reaches level ground, what reaches a window.

Angles are in radians, times of day in hours of true solar time as an hour angle (noon 0, afternoon positive), azimuths clockwise
from north.
"""

from dataclasses import dataclass
from math import acos, cos, degrees, exp, pi, pow, radians, sin

from airwarrant.air.standard import STANDARD_PRESSURE

#: Beam outside the atmosphere at the mean distance of the sun [W/m2]; the value Bird and Hulstrom's model was published with.
SOLAR_CONSTANT = 1367.0
_FORWARD = 0.84  # share of the light scattered by aerosol that goes on forward, rural aerosol (Bird and Hulstrom 1981)
_OZONE = 0.003  # m of ozone at standard conditions; a twentieth more or less moves the beam by 0.3 %


@dataclass(frozen=True, slots=True)
class Haze:
    """What the clear air holds.

    Attributes
    ----------
    aerosol_380, aerosol_500 : float
        Optical depth of aerosol at 380 and 500 nm.
    water : float
        Precipitable water [m].
    ozone : float
        Depth of ozone [m].
    forward : float
        Share of the light scattered by aerosol that goes on forward.
    """

    aerosol_380: float
    aerosol_500: float
    water: float
    ozone: float = _OZONE
    forward: float = _FORWARD


@dataclass(frozen=True, slots=True)
class ClearSky:
    """Irradiance [W/m2]: of the beam on a surface that faces it, and of sky and all on level ground."""

    beam: float
    sky: float
    level: float


def declination(day: float) -> float:
    """Declination of the sun on a day of the year (1 January is 1).

    Fourier series, error below 0.0006 rad.

    References
    ----------
    Spencer 1971, Fourier series representation of the position of the sun, Search 2 (5), 172.
    """
    b = _day_angle(day)
    first = 0.006918 - 0.399912 * cos(b) + 0.070257 * sin(b)
    return first - 0.006758 * cos(2 * b) + 0.000907 * sin(2 * b) - 0.002697 * cos(3 * b) + 0.00148 * sin(3 * b)


def beam_outside(day: float) -> float:
    """Beam outside the atmosphere [W/m2] on a day of the year; Spencer 1971."""
    b = _day_angle(day)
    series = 1.00011 + 0.034221 * cos(b) + 0.00128 * sin(b) + 0.000719 * cos(2 * b) + 0.000077 * sin(2 * b)
    return SOLAR_CONSTANT * series


def sun_vector(latitude: float, day: float, hour_angle: float) -> tuple[float, float, float]:
    """Unit vector towards the sun: its parts to the east, to the north, and up; the last is the cosine of the zenith angle.

    Spherical trigonometry, no refraction (0.6° at the horizon, below 0.1° from 10° up).
    """
    d, h = declination(day), hour_angle
    north = cos(latitude) * sin(d) - sin(latitude) * cos(d) * cos(h)
    return -cos(d) * sin(h), north, sin(latitude) * sin(d) + cos(latitude) * cos(d) * cos(h)


def incidence(sun: tuple[float, float, float], azimuth: float) -> float:
    """Cosine of the angle between the sun and the normal of an upright surface; negative behind it."""
    east, north, _ = sun
    return east * sin(azimuth) + north * cos(azimuth)


def air_mass(cos_zenith: float) -> float:
    """Relative air mass: ``1 / (cos z + 0.15 (93.885 - z)^-1.253)``, z in degrees, down to the horizon.

    References
    ----------
    Kasten 1966, A new table and approximation formula for the relative optical air mass, as used by Bird and Hulstrom 1981.
    """
    z = degrees(acos(min(max(cos_zenith, 0.0), 1.0)))
    return 1.0 / (max(cos_zenith, 0.0) + 0.15 * pow(93.885 - z, -1.253))


def clear_sky(cos_zenith: float, outside: float, haze: Haze, pressure: float, ground: float) -> ClearSky:
    """Irradiance under a clear sky.

    Parameters
    ----------
    cos_zenith : float
        Of the sun; at or below 0 there is none.
    outside : float
        Beam outside the atmosphere [W/m2].
    haze : Haze
    pressure : float
        Of the air at the site [Pa].
    ground : float
        Share of light that the ground reflects.

    Notes
    -----
    Broadband transmittances of scattering by air, of ozone, of mixed gases, of water vapour and of aerosol. The authors give 10 %
    against line-by-line calculation.

    References
    ----------
    Bird and Hulstrom 1981, A simplified clear sky model for direct and diffuse insolation on horizontal surfaces, SERI/TR-642-761.
    """
    if cos_zenith <= 0.0:
        return ClearSky(0.0, 0.0, 0.0)
    m = air_mass(cos_zenith)
    mp = m * pressure / STANDARD_PRESSURE
    scattered = exp(-0.0903 * pow(mp, 0.84) * (1.0 + mp - pow(mp, 1.01)))
    xo = 100.0 * haze.ozone * m
    ozone = 1.0 - 0.1611 * xo * pow(1.0 + 139.48 * xo, -0.3034) - 0.002715 * xo / (1.0 + 0.044 * xo + 0.0003 * xo**2)
    gases = exp(-0.0127 * pow(mp, 0.26))
    xw = 100.0 * haze.water * m
    water = 1.0 - 2.4959 * xw / (pow(1.0 + 79.034 * xw, 0.6828) + 6.385 * xw)
    depth = 0.2758 * haze.aerosol_380 + 0.35 * haze.aerosol_500
    aerosol = exp(-pow(depth, 0.873) * (1.0 + depth - pow(depth, 0.7088)) * pow(m, 0.9108))
    absorbed = 1.0 - 0.1 * (1.0 - m + pow(m, 1.06)) * (1.0 - aerosol)
    taken = ozone * gases * water

    beam = 0.9662 * outside * aerosol * taken * scattered
    turned = 0.5 * (1.0 - scattered) + haze.forward * (1.0 - aerosol / absorbed)
    from_sky = outside * cos_zenith * 0.79 * taken * absorbed * turned / (1.0 - m + pow(m, 1.02))
    back = 0.0685 + (1.0 - haze.forward) * (1.0 - aerosol / absorbed)
    level = (beam * cos_zenith + from_sky) / (1.0 - ground * back)
    return ClearSky(beam, level - beam * cos_zenith, level)


def on_upright(sky: ClearSky, cos_incidence: float, ground: float) -> tuple[float, float]:
    """Beam, and sky and ground together, on an upright surface [W/m2].

    ``G_sky = D/2 + rho G/2``: half of an even sky and half of an even ground are in view.

    References
    ----------
    Liu and Jordan 1963, The long-term average performance of flat-plate solar-energy collectors, Solar Energy 7 (2), 53.
    """
    return sky.beam * max(cos_incidence, 0.0), 0.5 * (sky.sky + ground * sky.level)


def incidence_modifier(cos_incidence: float, coefficient: float) -> float:
    """Share of the transmission at right angles that is left at an angle: ``1 - b0 (1/cos(theta) - 1)``, never below 0.

    References
    ----------
    Souka and Safwat 1966, Determination of the optimum orientations for the double-exposure, flat-plate collector, Solar Energy 10,
    170; ASHRAE 93.
    """
    if cos_incidence <= 0.0:
        return 0.0
    return max(1.0 - coefficient * (1.0 / cos_incidence - 1.0), 0.0)


def through_glass(on_glass: tuple[float, float], cos_incidence: float, coefficient: float) -> float:
    """Sun that a window of heat gain coefficient 1 lets in, per area of glass [W/m2].

    Parameters
    ----------
    on_glass : tuple of float
        Beam, and sky and ground, on the glass [W/m2].
    coefficient : float
        b0 of `incidence_modifier`. Light from all around counts as coming in at 60° (Duffie and Beckman, Solar Engineering of
        Thermal Processes, effective angle of isotropic diffuse light).
    """
    beam, around = on_glass
    return beam * incidence_modifier(cos_incidence, coefficient) + around * incidence_modifier(
        cos(radians(60.0)), coefficient
    )


def _day_angle(day: float) -> float:
    return 2.0 * pi * (day - 1.0) / 365.0
