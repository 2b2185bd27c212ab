"""One number against one limit: the word, and the probability that the true value meets it."""

from math import erf, sqrt
from typing import Literal

from airwarrant.units import UNITS, at_decimals

Sense = Literal["at most", "at least", "below", "above"]
_QUANTA = {name: 10.0**-unit.decimals for name, unit in UNITS.items()}


def compare(value: float, limit: float, must_be: Sense, band: float, unit: str, doubt: str = "retest") -> str:
    """Give the word for a value against a limit.

    Parameters
    ----------
    value, limit, band : float
        In `unit`; compared at its fixed decimals. A distance smaller than the band is ``close``; equal to it is not.
    must_be : {"at most", "at least", "below", "above"}
    doubt : {"retest", "against", "ignore"}
        ``against``: close counts as fail; ``ignore``: the value alone decides.
    """
    if doubt == "ignore":
        band = 0.0
    apart = value - limit
    away, rounding = abs(apart), _rounding(value, limit, band, unit)
    # Where no rounding makes a near distance far or a far one near, there is no need to round.
    if away > band + rounding:
        return "pass" if (apart < 0.0) == (must_be in ("at most", "below")) else "fail"
    near = "fail" if doubt == "against" else "close"
    if away < band - rounding:
        return near
    v, bound = at_decimals(value, unit), at_decimals(limit, unit)
    if band and abs(v - bound) < at_decimals(band, unit):
        return near
    meets = {"at most": v <= bound, "at least": v >= bound, "below": v < bound, "above": v > bound}[must_be]
    return "pass" if meets else "fail"


def _rounding(value: float, limit: float, band: float, unit: str) -> float:
    """More than fixed decimals and twelve significant digits can move a distance against its band."""
    return 2.0 * _QUANTA[unit] + 1e-10 * (abs(value) + abs(limit) + abs(band))


def probability(margin: float, band: float) -> float:
    """Probability that the true value meets the limit (JCGM 106:2012, normal, standard deviation = band / 2)."""
    if band == 0.0:
        return 1.0 if margin >= 0.0 else 0.0
    return 0.5 * (1.0 + erf(margin / (band / 2.0) / sqrt(2.0)))
