"""Proportional balancing of branches on one header, in closed form."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True, slots=True)
class Balanced:
    """One branch after balancing: loss its damper adds [Pa] at the final flow [m3/s], and final over design flow."""

    added_loss: float
    flow: float
    ratio: float


def balance(
    measured: Sequence[float], design: Sequence[float], node_pressure: float, available_pressure: float | None = None
) -> tuple[int, tuple[Balanced, ...]]:
    """Bring every branch to one ratio of design flow; the branch with the lowest ratio stays open.

    Every branch loses ``K Q^2`` from the header. Damping the others so that ``K_i d_i^2`` equals that of the key branch makes all
    ratios equal. With `available_pressure` before the way to the header, that way's own loss falls as the flow does and the header
    rises; without it the header keeps its pressure.

    Returns
    -------
    (int, tuple of Balanced)
        Place of the key branch, and every branch in the order given.
    """
    key = min(range(len(measured)), key=lambda i: measured[i] / design[i])
    resistance = [node_pressure / q**2 for q in measured]
    level = resistance[key] * design[key] ** 2
    before = 0.0 if available_pressure is None else (available_pressure - node_pressure) / sum(measured) ** 2
    whole = node_pressure if available_pressure is None else available_pressure
    ratio = sqrt(whole / (before * sum(design) ** 2 + level))
    return key, tuple(
        Balanced(0.0 if i == key else (level / d**2 - k) * (ratio * d) ** 2, ratio * d, ratio)
        for i, (k, d) in enumerate(zip(resistance, design, strict=True))
    )
