"""Airflow at the registers, line of work by line of work, each solved with those before it."""

from collections.abc import Sequence
from dataclasses import dataclass

from airwarrant.papers.pictures.drawing import Box, Drawing
from airwarrant.papers.pictures.palette import PAPER, RULE
from airwarrant.papers.pictures.rows import Column, Placed, draw_rows
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.signs import AS_FALL, AS_FOUND, AS_RISE, AS_TOTAL, draw_range, draw_sign

_HALF_BAR = 5.0


@dataclass(frozen=True, slots=True)
class Step:
    """A line of work, the airflow once it and all before it are done, and the text of what it changed.

    `change` is text only: the bar runs from the step before to this one.
    """

    name: str
    reached: Shown = MISSING
    change: str = ""


@dataclass(frozen=True, slots=True)
class WaterfallWords:
    """What stands over the names, the heads of the columns, and what stands for a missing number."""

    step: str
    change: str
    reached: str
    missing: str


def waterfall(frame: Frame, start: Step, steps: Sequence[Step], end: Step, axis: Axis, words: WaterfallWords) -> str:
    """Return the picture, from `start` over `steps` in the order of work to `end`.

    A rise is a hatched bar with a filled arrow to the right, a fall an empty bar with an open arrow to the left. A step that is
    missing has no bar; the next one begins at the last that is known.
    """
    drawing = Drawing(frame)
    rows = [start, *steps, end]
    reached = [row.reached for row in rows]
    columns = [
        Column(words.change, None, tuple(row.change for row in rows)),
        Column(words.reached, None, tuple(one.words(words.missing) for one in reached)),
    ]
    values = [v for one in reached for v in one.places()]
    placed = draw_rows(drawing, [row.name for row in rows], columns, axis, values, heading=words.step)
    _draw_steps(drawing, placed, [one.middle for one in reached])
    for row in range(len(rows)):
        ends = row in (0, len(rows) - 1)
        shown = reached[row]
        if shown.range is not None and ends:
            draw_range(
                drawing, AS_FOUND, placed.scale.at(shown.range[0]), placed.scale.at(shown.range[1]), placed.strips[row]
            )
        if shown.middle is not None and ends:
            draw_sign(drawing, AS_TOTAL, placed.scale.at(shown.middle), placed.strips[row], 5.5)
    return drawing.svg(placed.bottom)


def _draw_steps(drawing: Drawing, placed: Placed, middles: Sequence[float | None]) -> None:
    at: float | None = None
    row_at = 0
    last = len(middles) - 1
    for row, middle in enumerate(middles):
        if middle is None:
            continue
        x, y = placed.scale.at(middle), placed.strips[row]
        if at is not None:
            before = placed.scale.at(at)
            drawing.line(before, placed.strips[row_at] + _HALF_BAR, before, y - _HALF_BAR, RULE, 1.0, "2 2")
            if row != last:
                _bar(drawing, before, x, y)
            elif abs(x - before) > 1.0:
                # What the steps leave open up to the end shows as a gap.
                drawing.polyline([(before, y - _HALF_BAR), (before, y), (x, y)], RULE, 1.0, "2 2")
        at, row_at = middle, row


def _bar(drawing: Drawing, before: float, after: float, y: float) -> None:
    sign = AS_RISE if after >= before else AS_FALL
    box = Box(min(before, after), y - _HALF_BAR, max(before, after), y + _HALF_BAR)
    if box.right - box.left < 1.0:
        drawing.line(after, box.top, after, box.bottom, sign.colour, 2.0)
        return
    drawing.rect(box, PAPER, sign.colour, 1.2)
    if sign is AS_RISE:
        drawing.hatch(box, sign.colour)
    if box.right - box.left > 14.0:
        draw_sign(drawing, sign, after - 5.5 if sign is AS_RISE else after + 5.5, y, 4.0)
