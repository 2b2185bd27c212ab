"""Counts and spreads of many jobs."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, sqrt


@dataclass(frozen=True, slots=True)
class Share:
    """So many of so many."""

    some: int
    of: int

    @property
    def percent(self) -> float | None:
        """In percent; None where there is nothing to take a share of."""
        return 100.0 * self.some / self.of if self.of else None


@dataclass(frozen=True, slots=True)
class Spread:
    """How many numbers lie how: median and quartiles, mean and standard deviation (0 of a single one)."""

    count: int
    low: float
    median: float
    high: float
    mean: float
    deviation: float


def spread(values: Sequence[float]) -> Spread | None:
    """Return the spread of some numbers, or None of none.

    Quartiles lie between the two nearest numbers, in proportion: definition 7 of R. J. Hyndman and Y. Fan, "Sample quantiles in
    statistical packages", The American Statistician 50 (1996) 361-365. The deviation is that of the numbers, over n - 1.
    """
    if not values:
        return None
    ordered = sorted(values)
    mean = fsum(ordered) / len(ordered)
    squares = fsum((value - mean) ** 2 for value in ordered)
    deviation = sqrt(squares / (len(ordered) - 1)) if len(ordered) > 1 else 0.0
    low, median, high = (_at(ordered, share) for share in (0.25, 0.5, 0.75))
    return Spread(len(ordered), low, median, high, mean, deviation)


def _at(ordered: Sequence[float], share: float) -> float:
    place = share * (len(ordered) - 1)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])
