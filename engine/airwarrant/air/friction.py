"""Friction of air in round ducts: Darcy-Weisbach with the Colebrook friction factor; flexible duct and its compression."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log, log10, pi, pow, sqrt
from types import MappingProxyType
from typing import NamedTuple

from airwarrant.air.standard import STANDARD_DENSITY, VISCOSITY

_FT = 0.3048
LAMINAR_BELOW = 2300.0

#: Absolute roughness [m]. ASHRAE Handbook—Fundamentals, Duct Roughness Factors: galvanised "average" 0.0003 ft;
#: flexible duct fully extended (range 0.0003-0.003), faced liner and rigid fibrous glass "medium rough" 0.003 ft.
ROUGHNESS: Mapping[str, float] = MappingProxyType(
    {"galvanized": 0.0003 * _FT, "flex": 0.003 * _FT, "duct-board": 0.003 * _FT, "lined": 0.003 * _FT}
)


class Friction(NamedTuple):
    """Velocity [m/s], Reynolds number, Darcy friction factor and loss per length [Pa/m]."""

    velocity: float
    reynolds: float
    factor: float
    loss_per_length: float


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor: ``64/Re`` below 2300, else Colebrook.

    ``1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt(f)))``, solved by Newton's method on ``1/sqrt(f)`` until it stands
    still in double precision. Between Re 2300 and 4000 the flow is in transition and the turbulent value is an upper
    bound.

    References
    ----------
    Colebrook 1939; ASHRAE Handbook—Fundamentals, Duct Design, eq. 19.
    """
    if reynolds < LAMINAR_BELOW:
        return 64.0 / reynolds
    a, b = relative_roughness / 3.7, 2.51 / reynolds
    x = -1.8 * log10(6.9 / reynolds + a**1.11)  # Haaland 1983: within 2 %
    for _ in range(20):
        step = (x + 2.0 * log10(a + b * x)) / (1.0 + 2.0 * b / ((a + b * x) * log(10.0)))
        x -= step
        if abs(step) <= 1e-14 * x:
            break
    return 1.0 / (x * x)


def reynolds_number(flow: float, diameter: float, density: float = STANDARD_DENSITY) -> float:
    """Reynolds number of a flow [m3/s] in a round duct [m]: ``4 rho Q / (pi D mu)``; the trade's 8.56 D V in inches and fpm."""
    return 4.0 * density * flow / (pi * diameter * VISCOSITY)


def friction(flow: float, diameter: float, roughness: float, density: float = STANDARD_DENSITY) -> Friction:
    """Friction of a flow [m3/s] in a round duct of a diameter and roughness [m], air of a density [kg/m3].

    ``dp/L = f/D rho V^2/2``. Valid for Reynolds numbers from 4000 and relative roughness to 0.05.
    """
    velocity = flow / (pi * diameter**2 / 4.0)
    reynolds = reynolds_number(flow, diameter, density)
    factor = friction_factor(reynolds, roughness / diameter)
    return Friction(velocity, reynolds, factor, factor / diameter * density * velocity**2 / 2.0)


def friction_exponent(reynolds: float, relative_roughness: float) -> float:
    """Exponent n of ``dp ~ Q^n`` at a Reynolds number: ``2 + d ln f / d ln Re``, 1 in laminar flow.

    From Colebrook's equation by implicit differentiation, with ``x = 1/sqrt(f)``, ``b = 2.51/Re``,
    ``u = e/(3.7 D) + b x``: ``d ln f / d ln Re = -c / (1 + c/2)``, ``c = 4 b / (u ln 10)``. 1.7 for smooth to 2 for rough
    duct.
    """
    if reynolds < LAMINAR_BELOW:
        return 1.0
    b = 2.51 / reynolds
    x = 1.0 / sqrt(friction_factor(reynolds, relative_roughness))
    c = 4.0 * b / ((relative_roughness / 3.7 + b * x) * log(10.0))
    return 2.0 - c / (1.0 + c / 2.0)


@dataclass(frozen=True, slots=True)
class PowerLaw:
    """Loss [Pa] = k Q^exponent, Q in m3/s."""

    k: float
    exponent: float


def duct_law(
    flow: float,
    diameter: float,
    roughness: float,
    length: float,
    factor: float = 1.0,
    coefficient: float = 0.0,
    density: float = STANDARD_DENSITY,
) -> PowerLaw:
    """Power law of a duct with its fittings that has, at one flow, the loss and the slope of Darcy and Weisbach's.

    Parameters
    ----------
    flow : float
        [m3/s], 0 or more. Below Reynolds number 2300 the law is that of 2300, so that it has no step: it over-states
        laminar losses.
    diameter, roughness, length : float
        [m].
    factor : float
        Times the friction, such as `compression_factor`.
    coefficient : float
        Sum of the fittings' loss coefficients on the duct's velocity pressure.
    density : float
        [kg/m3].
    """
    area = pi * diameter**2 / 4.0
    at = max(flow, LAMINAR_BELOW * VISCOSITY / (density * diameter) * area * (1.0 + 1e-12))
    found = friction(at, diameter, roughness, density)
    wall = found.loss_per_length * length * factor
    fittings = coefficient * density * found.velocity**2 / 2.0
    exponent = (wall * friction_exponent(found.reynolds, roughness / diameter) + 2.0 * fittings) / (wall + fittings)
    return PowerLaw((wall + fittings) / pow(at, exponent), exponent)


def compression_factor(diameter: float, compression: float) -> float:
    """How many times the loss of fully extended flexible duct a compressed one has.

    ``1 + 0.58 K exp(-0.00496 D)``, D in mm, K in percent of the extended length. Holds for 6 to 16 in. and 30 % where
    the duct lies straight; from 12 in. at 15 % and more, measurements exceed it, and sag comes on top.

    Parameters
    ----------
    diameter : float
        [m].
    compression : float
        Share of the extended length that is taken up, 0..1.

    References
    ----------
    ASHRAE Handbook—Fundamentals (SI), Duct Design, pressure drop correction factor; Abushakra, Walker, Sherman 2004 (LBNL).
    """
    return 1.0 + 0.58 * 100.0 * compression * exp(-0.00496 * 1000.0 * diameter)


#: The loss of some sagging, compressed ducts over that of fully stretched ones, "over ten times": 6 to 10 in., joists
#: 24 in. apart, 15 to 45 % compression. Weaver and Culp, Static Pressure Losses in 6-, 8- and 10-inch Non-Metallic
#: Flexible Ducts, 2007 (ASHRAE LB-07-042, RP-1333), abstract.
SAGGING_LOSS = 10.0


def sag_ratio(diameter: float, compression: float) -> float:
    """How far the worst measured loss of sagging duct lies above the factor of duct laid straight; at least 1.

    ``10 / compression_factor``: a bound from one published sentence, not a law of sag; no published formula that tells
    sag from compression was found. Holds for 6 to 10 in. and 15 to 45 %; duct that sags no more than ½ in. a foot
    between supports 4 ft apart counts as straight.

    Parameters
    ----------
    diameter : float
        [m].
    compression : float
        Share of the extended length that is taken up, 0..1.
    """
    return max(SAGGING_LOSS / compression_factor(diameter, compression), 1.0)


def diameter_for(flow: float, loss_per_length: float, roughness: float, compression: float = 0.0) -> float:
    """Diameter [m] at which a flow [m3/s] of standard air loses `loss_per_length` [Pa/m].

    Bisection on the logarithm of the diameter: the loss falls with the diameter throughout, save for the step between
    turbulent and laminar, which it also falls over.
    """
    low, high = 1e-4, 100.0
    for _ in range(200):
        middle = sqrt(low * high)
        if middle in (low, high):
            break
        loss = friction(flow, middle, roughness).loss_per_length * compression_factor(middle, compression)
        low, high = (middle, high) if loss > loss_per_length else (low, middle)
    return high
