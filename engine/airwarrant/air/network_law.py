"""The law of a link: drop from flow, its slope, and flow from drop."""

import numpy as np

from airwarrant.air.blower_curve import Floats

# Flow [m3/s] below which a link turns from its power law to a straight line, so that its slope never vanishes.
SMOOTHING = 1e-6
_EPSILON_2 = SMOOTHING**2
_STEPS = 60


def drop_and_slope(flow: Floats, k: Floats, exponent: Floats) -> tuple[Floats, Floats]:
    """Drop [Pa] of links at a flow [m3/s] and its derivative: ``h = k q (q^2 + e^2)^((n-1)/2)``, smooth, odd, rising.

    `k` and `exponent` broadcast to the shape of `flow`.
    """
    square = flow * flow
    wide = square + _EPSILON_2
    less = exponent - 1.0
    secant = np.power(wide, 0.5 * less)
    secant *= k
    # In place: for hundreds of sets fresh arrays cost more than the arithmetic.
    slope = np.divide(square, wide, out=square)
    slope *= less
    slope += 1.0
    slope *= secant
    drop = np.multiply(flow, secant, out=secant)
    return drop, slope


def flow_of_drop(drop: Floats, k: Floats, exponent: Floats) -> Floats:
    """Flow [m3/s] of links at a drop [Pa].

    The pure power law gives a flow not smaller than the true one, and the law is convex above zero, so Newton's steps come down
    on it without overshooting.
    """
    size = np.abs(drop)
    flow = np.power(size / k, 1.0 / exponent)
    for _ in range(_STEPS):
        there, slope = drop_and_slope(flow, k, exponent)
        lower = np.maximum(flow - (there - size) / slope, 0.0)
        if np.all(flow - lower <= 1e-15 * flow):
            break
        flow = lower
    return np.asarray(np.copysign(flow, drop))
