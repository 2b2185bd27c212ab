"""What a caller hands to a picture: numbers with the words they are shown by, axes, and the frame of the picture."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite
from typing import TypeGuard

from airwarrant.papers.pictures.characters import clean

#: Beyond this a number cannot be told from a slip, and differences of two lose their meaning: it is drawn as missing.
_LARGEST = 1e12
_PREFIX = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")

#: (number, decimals) -> its text in the reader's language.
Format = Callable[[float, int], str]


@dataclass(frozen=True, slots=True)
class Frame:
    """The outside of a picture.

    Attributes
    ----------
    prefix : str
        Begins each id of the picture; of its own on the page. A letter, then letters, digits, ``-`` or ``_``.
    title, description : str
        What is read to someone who does not see the picture; both should name the numbers that matter.
    width : float
        Width the picture is laid out for, in CSS pixels, 240 or more: 672 for 7 in. of paper, 340 for a phone. Text is not
        scaled by it.

    Raises
    ------
    ValueError
        If `prefix` cannot begin an id, a text is empty, or `width` is below 240.
    """

    prefix: str
    title: str
    description: str
    width: float = 672.0

    def __post_init__(self) -> None:
        if not _PREFIX.fullmatch(self.prefix):
            raise ValueError(f"prefix {self.prefix!r}: begin with a letter, then letters, digits, - or _")
        if not clean(self.title) or not clean(self.description):
            raise ValueError(
                f"picture {self.prefix}: a title and a description are needed for readers who do not see it"
            )
        if not self.width >= 240.0:
            raise ValueError(f"picture {self.prefix}: width {self.width}: 240 or more")


@dataclass(frozen=True, slots=True)
class Shown:
    """A number and its text. Without `value` the range alone is drawn; without either it is missing.

    Attributes
    ----------
    value : float or None
        Where it is drawn, in the unit of the picture's axis.
    text : str
        What is printed, as the caller formatted it.
    low, high : float or None
        The range around it; drawn only when both are numbers.
    """

    value: float | None = None
    text: str = ""
    low: float | None = None
    high: float | None = None

    @property
    def at(self) -> float | None:
        """`value`, or None where it is no number that can be drawn."""
        return self.value if _is_number(self.value) else None

    @property
    def range(self) -> tuple[float, float] | None:
        """(low, high) in order, or None where either is no number that can be drawn."""
        if not (_is_number(self.low) and _is_number(self.high)):
            return None
        return min(self.low, self.high), max(self.low, self.high)

    @property
    def middle(self) -> float | None:
        """`value`, or else the middle of the range: where a line through several goes."""
        if self.at is not None or self.range is None:
            return self.at
        return self.range[0] / 2.0 + self.range[1] / 2.0

    def places(self) -> tuple[float, ...]:
        """Every number that an axis must reach."""
        return (*(() if self.at is None else (self.at,)), *(self.range or ()))

    def words(self, missing: str) -> str:
        """The text to print: `missing` where there is nothing to draw and no text."""
        return self.text or ("" if self.places() else missing)


def _is_number(value: float | None) -> TypeGuard[float]:
    return value is not None and isfinite(value) and abs(value) <= _LARGEST


MISSING = Shown()


@dataclass(frozen=True, slots=True)
class Axis:
    """What an axis measures, its unit within `title`, and how its ticks are written."""

    title: str
    tick: Format
