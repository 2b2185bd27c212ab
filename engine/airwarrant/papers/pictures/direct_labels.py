"""Labels set beside what they name: the first place that no text and no line crosses."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from airwarrant.papers.pictures.drawing import ASCENT, DESCENT, LEADING, SMALL, Box
from airwarrant.papers.pictures.fitting import text_width, wrapped

Point = tuple[float, float]

_DISTANCES: Final = (9.0, 18.0, 32.0, 50.0, 74.0)
_DIRECTIONS: Final = ((1, -1), (-1, -1), (1, 1), (-1, 1), (1, 0), (-1, 0), (0, -1), (0, 1))
#: Shares of the plot's width that a label may take, tried in order.
_ROOMS: Final = (0.45, 0.34, 0.26)
_LINES: Final = 3
_CLEAR: Final = 2.5
#: Beyond this distance a thin line leads from the label to its point.
_LEADS: Final = 12.0


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a label stands: its lines, the box around them, and the line that leads to it where it stands off."""

    lines: tuple[str, ...]
    box: Box
    leader: tuple[Point, Point] | None = None


def place(
    text: str,
    near: Sequence[Point],
    plot: Box,
    taken: Sequence[Box],
    segments: Sequence[tuple[Point, Point]],
    barriers: Sequence[tuple[Point, Point]] = (),
    far: bool = False,
) -> Placement | None:
    """Return the first clear place beside one of `near`, in their order, within `plot`; None where there is none.

    `taken` are boxes and `segments` lines that the label must not touch, `barriers` lines that must not lie between it and its
    point. With `far` it may stand off, a leader to its point.
    """
    for lines in _shapes(text, plot.right - plot.left):
        for distance in _DISTANCES if far else _DISTANCES[:2]:
            for point in near:
                for direction in _DIRECTIONS:
                    found = _at(lines, point, direction, distance)
                    if _is_clear(found, plot, taken, segments) and not _is_parted(point, found.box, barriers):
                        return found
    return None


def _shapes(text: str, width: float) -> Iterator[tuple[str, ...]]:
    for share in _ROOMS:
        lines = wrapped(text, share * width, SMALL, _LINES)
        if lines and not lines[-1].endswith("…"):
            yield lines


def _at(lines: tuple[str, ...], point: Point, direction: tuple[int, int], distance: float) -> Placement:
    wide = max(text_width(line, SMALL) for line in lines)
    high = SMALL * (ASCENT + DESCENT + (len(lines) - 1) * LEADING)
    x, y = point[0] + direction[0] * distance, point[1] + direction[1] * distance
    left = x if direction[0] > 0 else x - wide if direction[0] < 0 else x - wide / 2.0
    top = y if direction[1] > 0 else y - high if direction[1] < 0 else y - high / 2.0
    box = Box(left, top, left + wide, top + high)
    if distance <= _LEADS:
        return Placement(lines, box)
    return Placement(lines, box, (point, _nearest(point, box)))


def _nearest(point: Point, box: Box) -> Point:
    return min(max(point[0], box.left), box.right), min(max(point[1], box.top), box.bottom)


def _is_clear(found: Placement, plot: Box, taken: Sequence[Box], segments: Sequence[tuple[Point, Point]]) -> bool:
    box = found.box
    if box.left < plot.left or box.right > plot.right or box.top < plot.top or box.bottom > plot.bottom:
        return False
    wide = Box(box.left - _CLEAR, box.top - _CLEAR, box.right + _CLEAR, box.bottom + _CLEAR)
    if any(wide.meets(other) for other in taken) or any(crosses(*segment, wide) for segment in segments):
        return False
    return found.leader is None or not any(crosses(*found.leader, other) for other in taken)


def _is_parted(point: Point, box: Box, barriers: Sequence[tuple[Point, Point]]) -> bool:
    end = _nearest(point, box)
    return any(
        _side(a, b, point) * _side(a, b, end) <= 0.0 and _side(point, end, a) * _side(point, end, b) <= 0.0
        for a, b in barriers
    )


def _side(a: Point, b: Point, c: Point) -> float:
    """Positive on one side of the line through `a` and `b`, negative on the other."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def crosses(a: Point, b: Point, box: Box) -> bool:
    """Whether the line from `a` to `b` enters `box`.

    References
    ----------
    Y.-D. Liang and B. A. Barsky, "A New Concept and Method for Line Clipping", ACM Transactions on Graphics 3 (1984) 1-22.
    """
    enter, leave = 0.0, 1.0
    for step, room in (
        (a[0] - b[0], a[0] - box.left),
        (b[0] - a[0], box.right - a[0]),
        (a[1] - b[1], a[1] - box.top),
        (b[1] - a[1], box.bottom - a[1]),
    ):
        if step == 0.0:
            if room < 0.0:
                return False
        elif step < 0.0:
            enter = max(enter, room / step)
        else:
            leave = min(leave, room / step)
    return enter <= leave
