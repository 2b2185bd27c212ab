"""Blowers: fan laws, power, and where a blower's table meets a system curve."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pow


def scaled_static(static: float, flow: float, new_flow: float) -> float:
    """Static pressure [Pa] a system takes at another flow: ``dp (Q2/Q1)^2`` (fan laws; ASHRAE Systems and Equipment, Fans)."""
    return static * (new_flow / flow) ** 2


def scaled_power(power: float, flow: float, new_flow: float) -> float:
    """Fan power [W] at another speed of the same fan: ``W (Q2/Q1)^3`` at constant efficiency."""
    return power * (new_flow / flow) ** 3


def efficiency(flow: float, static: float, power: float) -> float:
    """Air power over electric power: ``Q dp / W``; flow [m3/s], static [Pa], power [W]."""
    return flow * static / power


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where blower and system meet: flow [m3/s], static [Pa]; `inside` says whether that lies within the blower's table."""

    flow: float
    static: float
    inside: bool


def crossing(table: Sequence[tuple[float, float]], k: float, exponent: float) -> Crossing:
    """Meet a blower's table with a system ``dp = k Q^exponent``.

    Parameters
    ----------
    table : sequence of (static [Pa], flow [m3/s])
        Static rising, flow not rising; linear between the points and beyond them along the end pieces, never below no flow.
    k, exponent : float
        Of the system; k > 0.

    Notes
    -----
    The system's static at the flow of the table rises no faster than the table's own static falls, so one crossing exists and
    bisection on the static finds it to double precision.
    """

    def gap(static: float) -> float:
        return static - k * pow(flow_at(table, static), exponent)

    low, high = 0.0, max(table[-1][0], 1.0)
    while gap(high) < 0.0:
        high *= 2.0
    for _ in range(200):
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        low, high = (middle, high) if gap(middle) < 0.0 else (low, middle)
    static = high
    return Crossing(flow_at(table, static), static, table[0][0] <= static <= table[-1][0])


def flow_at(table: Sequence[tuple[float, float]], static: float) -> float:
    """Flow [m3/s] of a blower's table at a static [Pa], linear between the points, along the end pieces beyond them."""
    i = 1
    while i < len(table) - 1 and static > table[i][0]:
        i += 1
    (s0, q0), (s1, q1) = table[i - 1], table[i]
    return max(q0 + (q1 - q0) * (static - s0) / (s1 - s0), 0.0)
