"""Axes: round ticks, and numbers turned into places."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import ceil, floor, log10
from typing import Final

#: Nothing that a picture shows is measured this finely.
_SMALLEST: Final = 1e-9
#: Numbers closer than this share of their size are taken for one.
_ALIKE: Final = 1e-9
_LEAST: Final = 3


@dataclass(frozen=True, slots=True)
class Ticks:
    """Round numbers that enclose the data, and the decimals that tell them apart."""

    at: tuple[float, ...]
    decimals: int


def ticks(low: float, high: float, most: int) -> Ticks:
    """Return at most `most` round numbers, two or more, a step of 1, 2 or 5 times a power of ten apart, around `low` to `high`.

    Three are always allowed: numbers on both sides of zero need them.

    References
    ----------
    P. S. Heckbert, "Nice numbers for graph labels", in A. S. Glassner (ed.), Graphics Gems, Academic Press 1990, 61-63: loose
    labels; the step here is the smallest round one that keeps to `most`.
    """
    low, high = _apart(low, high)
    most = max(most, _LEAST)
    for factor, power in _steps((high - low) / most):
        first, last = floor(_over(low, factor, power)), ceil(_over(high, factor, power))
        if last - first + 1 <= most:
            decimals = max(0, -power)
            at = tuple(dict.fromkeys(round(_times(i, factor, power), decimals) + 0.0 for i in range(first, last + 1)))
            return Ticks(at, decimals)
    return Ticks((low, high), 0)


def _apart(low: float, high: float) -> tuple[float, float]:
    most = max(abs(low), abs(high))
    if most < _SMALLEST:
        return 0.0, 1.0
    return (low, high) if high - low > _ALIKE * most else (low - 0.1 * most, high + 0.1 * most)


def _steps(about: float) -> Iterable[tuple[int, int]]:
    power = floor(log10(about))
    return ((factor, power + more) for more in range(4) for factor in (1, 2, 5))


def _over(value: float, factor: int, power: int) -> float:
    # Whole powers of ten divide exactly where they can: 0.3 over 0.1 must not be 2.999….
    scaled = value * 10.0**-power if power < 0 else value / 10.0**power
    near = round(scaled / factor)
    return float(near) if abs(scaled / factor - near) < 1e-9 else scaled / factor


def _times(count: int, factor: int, power: int) -> float:
    return count * factor / 10.0**-power if power < 0 else count * factor * 10.0**power


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight map from numbers (`low`, `high`) to places (`begin`, `end`) of the picture."""

    low: float
    high: float
    begin: float
    end: float

    def at(self, value: float) -> float:
        """Return the place of `value`."""
        return self.begin + (value - self.low) / (self.high - self.low) * (self.end - self.begin)


def fitted(
    values: Iterable[float], begin: float, end: float, most: int, room: Callable[[Ticks], float]
) -> tuple[Ticks, Scale]:
    """Return ticks around `values` and their scale, as many as leave `room` (the space one label asks for) between two."""
    numbers = tuple(values) or (0.0, 1.0)
    low, high = min(numbers), max(numbers)
    for count in range(max(most, _LEAST), _LEAST - 1, -1):
        found = ticks(low, high, count)
        if abs(end - begin) / (len(found.at) - 1) >= room(found) or count == _LEAST:
            break
    return found, Scale(found.at[0], found.at[-1], begin, end)
