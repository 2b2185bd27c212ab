"""Printed tables, linear between their points; beyond them the end value stands, and the caller says so."""

from bisect import bisect_right
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Curve:
    """A printed column: a value by one ratio or angle."""

    at: tuple[float, ...]
    value: tuple[float, ...]

    def __call__(self, x: float) -> float:
        """Value at x, linear between the points, the end value beyond them."""
        if x <= self.at[0]:
            return self.value[0]
        if x >= self.at[-1]:
            return self.value[-1]
        i = bisect_right(self.at, x)
        share = (x - self.at[i - 1]) / (self.at[i] - self.at[i - 1])
        return self.value[i - 1] + share * (self.value[i] - self.value[i - 1])

    def holds(self, x: float) -> bool:
        """Whether x lies within the printed points."""
        return self.at[0] <= x <= self.at[-1]


@dataclass(frozen=True, slots=True)
class Sheet:
    """Printed columns side by side, one at each value of a second ratio."""

    at: tuple[float, ...]
    columns: tuple[Curve, ...]

    def __call__(self, x: float, y: float) -> float:
        """Value at x down the columns and y across them, linear both ways."""
        return Curve(self.at, tuple(column(x) for column in self.columns))(y)
