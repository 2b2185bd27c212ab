"""The law of a link: drop from flow, its slope, and flow from drop."""

from typing import NamedTuple

import numpy as np

from airwarrant.air.blower_curve import Floats

# Flow [m3/s] below which a link turns from its power law to a straight line, so that its slope never vanishes.
SMOOTHING = 1e-6
_EPSILON_2 = SMOOTHING**2
_STEPS = 60


class LinkLaw(NamedTuple):
    """``h = k q (q^2 + e^2)^((n-1)/2)``: smooth, odd, rising. Make one with `law_of`.

    Attributes
    ----------
    k, exponent : ndarray
        Resistance [Pa/(m3/s)^n] and exponent of each link; they broadcast to the shape of the flows.
    half, tail : ndarray
        ``(n-1)/2`` and ``(n-1) e^2``, which every call needs.
    """

    k: Floats
    exponent: Floats
    half: Floats
    tail: Floats

    def drop_and_slope(self, flow: Floats) -> tuple[Floats, Floats]:
        """Drop [Pa] of links at a flow [m3/s] and its derivative [Pa/(m3/s)]."""
        wide = flow * flow
        wide += _EPSILON_2
        secant = np.power(wide, self.half)
        secant *= self.k
        # In place: for hundreds of sets fresh arrays cost more than the arithmetic.
        slope = np.divide(self.tail, wide, out=wide)
        np.subtract(self.exponent, slope, out=slope)
        slope *= secant
        drop = np.multiply(flow, secant, out=secant)
        return drop, slope

    def flow_of_drop(self, drop: Floats) -> Floats:
        """Flow [m3/s] of links at a drop [Pa].

        The pure power law gives a flow not smaller than the true one, and the law is convex above zero, so Newton's steps come
        down on it without overshooting.
        """
        size = np.abs(drop)
        flow = np.power(size / self.k, 1.0 / self.exponent)
        for _ in range(_STEPS):
            there, slope = self.drop_and_slope(flow)
            lower = np.maximum(flow - (there - size) / slope, 0.0)
            if np.all(flow - lower <= 1e-15 * flow):
                break
            flow = lower
        return np.asarray(np.copysign(flow, drop))


def law_of(k: Floats, exponent: Floats) -> LinkLaw:
    """The law of links with resistances `k` [Pa/(m3/s)^n] and exponents."""
    less = exponent - 1.0
    return LinkLaw(k, exponent, 0.5 * less, _EPSILON_2 * less)
