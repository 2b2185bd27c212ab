"""Duct leakage: power law, leakage class, return leak from three temperatures."""

from __future__ import annotations

from math import pow
from typing import TYPE_CHECKING, TypeVar

from airwarrant.air.elementwise import power

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Amount = TypeVar("Amount", float, NDArray[float64])

_IN_WC = 249.08891
_CFM = 0.3048**3 / 60.0
_HUNDRED_FT2 = 100.0 * 0.3048**2


#: Flow exponent of duct leaks in ASHRAE 152, by the comment of a laboratory's code; the leakage class has 0.65.
LEAK_EXPONENT = 0.6
#: Pressure [Pa] of a duct leakage test.
TEST_PRESSURE = 25.0


def leakage_at(flow: Amount, pressure: float, new_pressure: Amount, exponent: float) -> Amount:
    """Leakage at another pressure: ``Q (P2/P1)^n``. Numbers or arrays."""
    return flow * power(new_pressure / pressure, exponent)


def pressure_of_leakage(flow: Amount, pressure: float, new_flow: Amount, exponent: float) -> Amount:
    """Pressure [Pa] at which a leak of a flow at a pressure has another flow: ``P1 (Q2/Q1)^(1/n)``. Numbers or arrays."""
    return pressure * power(new_flow / flow, 1.0 / exponent)


def mean_leakage(flow: Amount, pressure: float, low: Amount, high: Amount, exponent: float) -> Amount:
    """Mean leakage if the leak may sit anywhere between two pressures, each as likely: ``Q mean((P/P1)^n)`` over low..high.

    Numbers or arrays; ``high`` above ``low``.
    """
    n = exponent + 1.0
    return flow * (power(high, n) - power(low, n)) / (n * (high - low) * pow(pressure, exponent))


def leak_resistance(flow: float, pressure: float, exponent: float) -> float:
    """Resistance k [Pa/(m3/s)^(1/n)] of a leak of a flow [m3/s] at a pressure [Pa]: ``P / Q^(1/n)``, the inverse of ``Q = c P^n``."""
    return pressure / pow(flow, 1.0 / exponent)


def leakage_of_class(leakage_class: float, pressure: float, area: float) -> float:
    """Leakage [m3/s] of duct of a leakage class, surface [m2] and pressure [Pa].

    ``F = CL dP^0.65`` in cfm per 100 ft2 and in. w.c. The class is a name and keeps its inch-pound number.

    References
    ----------
    SMACNA HVAC Air Duct Leakage Test Manual; ASHRAE Handbook—Fundamentals, Duct Design.
    """
    return leakage_class * pow(pressure / _IN_WC, 0.65) * _CFM * area / _HUNDRED_FT2


def return_leak_fraction(grille: Amount, unit: Amount, source: Amount) -> Amount:
    """Share of the blower's air that leaks into the return, from temperatures: ``(Tu - Tg) / (Ts - Tg)``.

    Numbers or arrays. Mixing of two streams; conduction through the duct reads as leakage, so that it is an upper bound in a hot attic.
    """
    return (unit - grille) / (source - grille)


def warmed_by_leak(fraction: Amount, grille: Amount, source: Amount) -> Amount:
    """Kelvin by which a return leak warms what the unit draws in: `return_leak_fraction` the other way round."""
    return fraction * (source - grille)
