"""Blowers: fan laws, power, and where a blower's table meets a system curve."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import pow
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Amount = TypeVar("Amount", float, NDArray[float64])


def scaled_static(static: float, flow: float, new_flow: float) -> float:
    """Static pressure [Pa] a system takes at another flow: ``dp (Q2/Q1)^2`` (fan laws; ASHRAE Systems and Equipment, Fans)."""
    return static * (new_flow / flow) ** 2


def scaled_power(power: float, flow: float, new_flow: float) -> float:
    """Fan power [W] at another speed of the same fan: ``W (Q2/Q1)^3`` at constant efficiency."""
    return power * (new_flow / flow) ** 3


def efficiency(flow: Amount, static: Amount, power: Amount) -> Amount:
    """Air power over electric power: ``Q dp / W``; flow [m3/s], static [Pa], power [W]. Numbers or arrays."""
    return flow * static / power


def electric_power(flow: Amount, static: Amount, efficiency: Amount) -> Amount:
    """Electric power [W] of a blower: ``Q dp / eta``, its `efficiency` the other way round."""
    return flow * static / efficiency


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where blower and system meet: flow [m3/s] and static [Pa]."""

    flow: float
    static: float


def crossing(flow_at: Callable[[float], float], k: float, exponent: float) -> Crossing:
    """Meet a blower with a system ``dp = k Q^exponent``.

    Parameters
    ----------
    flow_at : callable
        Flow of the blower [m3/s] at a static [Pa], not rising with it.
    k, exponent : float
        Of the system; k > 0.

    Notes
    -----
    The system's static at the blower's flow never rises with the static, so that one crossing exists; bisection on the static finds
    it to double precision.
    """

    def gap(static: float) -> float:
        return static - k * pow(flow_at(static), exponent)

    low, high = 0.0, 1.0
    while gap(high) < 0.0:
        high *= 2.0
    for _ in range(200):
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        low, high = (middle, high) if gap(middle) < 0.0 else (low, middle)
    return Crossing(flow_at(high), high)
