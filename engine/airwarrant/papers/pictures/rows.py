"""A chart of rows: names at the left, one strip a row, and each number printed in a column, or under the name where it is narrow."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum
from typing import Final

from airwarrant.papers.pictures.axes import Scale, Ticks, fitted
from airwarrant.papers.pictures.characters import clean
from airwarrant.papers.pictures.drawing import ASCENT, LEADING, SMALL, TEXT, Anchor, Drawing, paragraph_height
from airwarrant.papers.pictures.fitting import text_width, wrapped
from airwarrant.papers.pictures.palette import GRID, INK, QUIET, RULE
from airwarrant.papers.pictures.shown import Axis, Shown
from airwarrant.papers.pictures.signs import Sign, draw_range, draw_sign

EDGE: Final = 4.0
_GAP: Final = 12.0
_SIGN_ROOM: Final = 15.0
_STRIP: Final = 22.0
_ROW_GAP: Final = 7.0
_NAME_LINES: Final = 3
_TEXT_LINES: Final = 2
_FLOW_LINES: Final = 3
_NARROW_NAMES: Final = 0.46
_HEAD_LINES: Final = 3
_LEAST_NAME: Final = 64.0
_MOST_NAME: Final = 0.34
_LEAST_PLOT: Final = 0.3
_MOST_COLUMN: Final = 0.2
_WHOLE: Final = 74.0
_MOST_TICKS: Final = 7


@dataclass(frozen=True, slots=True)
class Column:
    """One kind of number: its head, the sign it has in the strips, and its text in each row."""

    head: str
    sign: Sign | None
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """A chart of rows, its names, numbers and axis drawn: where each strip lies and where the chart ends."""

    scale: Scale
    strips: tuple[float, ...]
    top: float
    foot: float
    bottom: float


def draw_rows(
    drawing: Drawing,
    names: Sequence[str],
    columns: Sequence[Column],
    axis: Axis,
    values: Sequence[float],
    *,
    top: float = EDGE,
    heading: str = "",
) -> Placed:
    """Draw all of a chart of rows but its marks, which the caller adds at ``scale.at(value), strips[row]``.

    `heading` stands over the names. `values` are all numbers that the axis must reach.
    """
    widths = _column_widths(drawing.width, columns)
    room = drawing.width - 2.0 * EDGE - fsum(w + _GAP for w in widths)
    widest = max((text_width(clean(name), TEXT) for name in (*names, heading)), default=0.0)
    name_room = min(max(widest, _LEAST_NAME), _MOST_NAME * drawing.width)
    if room - name_room - _GAP >= _LEAST_PLOT * drawing.width:
        return _beside(drawing, names, columns, widths, name_room, axis, values, top, heading)
    return _narrow(drawing, names, columns, axis, values, top, heading)


def draw_series(drawing: Drawing, placed: Placed, sign: Sign, shown: Sequence[Shown]) -> None:
    """One kind of number over all rows: its ranges, then its points."""
    for y, one in zip(placed.strips, shown, strict=True):
        if one.range is not None:
            draw_range(drawing, sign, placed.scale.at(one.range[0]), placed.scale.at(one.range[1]), y)
        if one.at is not None:
            draw_sign(drawing, sign, placed.scale.at(one.at), y)


def _column_widths(width: float, columns: Sequence[Column]) -> list[float]:
    most = _MOST_COLUMN * width
    widths = []
    for column in columns:
        head = _wide(column.head, SMALL) + _sign_room(column)
        texts = max((_wide(text, TEXT) for text in column.texts), default=0.0)
        widths.append(min(max(texts, head), most))
    return widths


def _wide(text: str, size: float) -> float:
    """The width a text asks for: the whole of it where it is short, else its longest word, the rest going to a second line."""
    whole = text_width(clean(text), size)
    return whole if whole <= _WHOLE else max(text_width(word, size) for word in clean(text).split(" "))


def _beside(
    drawing: Drawing,
    names: Sequence[str],
    columns: Sequence[Column],
    widths: Sequence[float],
    name_room: float,
    axis: Axis,
    values: Sequence[float],
    top: float,
    heading: str,
) -> Placed:
    plot_left = EDGE + name_room + _GAP
    plot_right = drawing.width - EDGE - fsum(w + _GAP for w in widths)
    heads = [
        paragraph_height(c.head, w - _sign_room(c), SMALL, _HEAD_LINES) for c, w in zip(columns, widths, strict=True)
    ]
    head_bottom = top + max([*heads, paragraph_height(heading, name_room, SMALL, _HEAD_LINES)]) + 6.0
    drawing.paragraph(EDGE, top, heading, name_room, size=SMALL, fill=QUIET, most=_HEAD_LINES)
    x = plot_right
    rights = []
    for column, width in zip(columns, widths, strict=True):
        x += _GAP + width
        rights.append(x)
        _column_head(drawing, column, x, width, top)
    heights = [
        max(
            paragraph_height(name, name_room, TEXT, _NAME_LINES),
            *(paragraph_height(c.texts[row], w, TEXT, _TEXT_LINES) for c, w in zip(columns, widths, strict=True)),
            _STRIP - _ROW_GAP,
        )
        for row, name in enumerate(names)
    ]
    tops = [head_bottom + fsum(heights[:row]) + row * _ROW_GAP for row in range(len(names))]
    foot = head_bottom + fsum(heights) + len(names) * _ROW_GAP
    # The last tick's label is centred on the end of the plot: half of it needs room inside.
    scale, bottom = _draw_axis(drawing, axis, values, plot_left + 8.0, plot_right - 8.0, head_bottom, foot)
    for row, name in enumerate(names):
        drawing.line(EDGE, tops[row] - _ROW_GAP / 2.0, drawing.width - EDGE, tops[row] - _ROW_GAP / 2.0, GRID, 0.8)
        middle = tops[row] + heights[row] / 2.0
        _centred(drawing, name, EDGE, middle, name_room, _NAME_LINES, "start", INK)
        for column, width, right in zip(columns, widths, rights, strict=True):
            _centred(drawing, column.texts[row], right, middle, width, _TEXT_LINES, "end", _ink(column))
    strips = tuple(t + h / 2.0 for t, h in zip(tops, heights, strict=True))
    return Placed(scale, strips, head_bottom, foot, bottom)


def _narrow(
    drawing: Drawing,
    names: Sequence[str],
    columns: Sequence[Column],
    axis: Axis,
    values: Sequence[float],
    top: float,
    heading: str,
) -> Placed:
    """Names at the left with their numbers below them, the plot at the right."""
    room = _NARROW_NAMES * drawing.width
    y = drawing.paragraph(EDGE, top, heading, drawing.width - 2.0 * EDGE, size=SMALL, fill=QUIET, most=_HEAD_LINES)
    y = _flow(drawing, [(c, c.head) for c in columns], drawing.width - 2.0 * EDGE, y, SMALL) + 4.0
    begin = y
    strips = []
    for row, name in enumerate(names):
        drawing.line(EDGE, y, drawing.width - EDGE, y, GRID, 0.8)
        below = drawing.paragraph(EDGE, y + 4.0, name, room, most=_NAME_LINES)
        below = _flow(drawing, [(c, c.texts[row]) for c in columns if clean(c.texts[row])], room, below, TEXT)
        below = max(below + 3.0, y + _STRIP)
        strips.append((y + below) / 2.0)
        y = below
    left = EDGE + room + _GAP
    scale, bottom = _draw_axis(drawing, axis, values, left + 6.0, drawing.width - EDGE - 14.0, begin, y)
    return Placed(scale, tuple(strips), begin, y, bottom)


def _flow(drawing: Drawing, items: Sequence[tuple[Column, str]], room: float, top: float, size: float) -> float:
    """Signs with texts one after the other, a new line where the next one would not fit; returns where the next may begin."""
    x, y, below = EDGE, top, top
    for column, text in items:
        sign_room = _sign_room(column)
        lines = wrapped(text, room - sign_room, size, _FLOW_LINES)
        wide = sign_room + max((text_width(line, size) for line in lines), default=0.0)
        if x > EDGE and (x + wide > EDGE + room or len(lines) > 1):
            x, y = EDGE, below
        if column.sign is not None:
            draw_sign(drawing, column.sign, x + 5.5, y + size * 0.45, 3.6)
        ends = drawing.paragraph(
            x + sign_room, y, text, room - sign_room, size=size, fill=_ink(column), most=_FLOW_LINES
        )
        below = max(below, ends)
        x += wide + _GAP
    return below


def _column_head(drawing: Drawing, column: Column, right: float, width: float, top: float) -> None:
    room = width - _sign_room(column)
    lines = wrapped(column.head, room, SMALL, _HEAD_LINES)
    widest = max((text_width(line, SMALL) for line in lines), default=0.0)
    if column.sign is not None:
        draw_sign(drawing, column.sign, right - widest - _SIGN_ROOM + 6.0, top + SMALL * 0.5, 3.6)
    drawing.paragraph(right, top, column.head, room, size=SMALL, anchor="end", fill=_ink(column), most=_HEAD_LINES)


def _sign_room(column: Column) -> float:
    return _SIGN_ROOM if column.sign is not None else 0.0


def _ink(column: Column) -> str:
    return column.sign.colour if column.sign is not None else INK


def _centred(
    drawing: Drawing, text: str, x: float, middle: float, room: float, most: int, anchor: Anchor, fill: str
) -> None:
    top = middle - paragraph_height(text, room, TEXT, most) / 2.0
    drawing.paragraph(x, top, text, room, anchor=anchor, fill=fill, most=most)


def _draw_axis(
    drawing: Drawing,
    axis: Axis,
    values: Sequence[float],
    left: float,
    right: float,
    top: float,
    foot: float,
) -> tuple[Scale, float]:
    """Helper lines behind the rows, ticks below them and the axis title below those; returns the scale and where it all ends."""

    def label_room(found: Ticks) -> float:
        return max(text_width(clean(axis.tick(at, found.decimals)), SMALL) for at in found.at) + 10.0

    found, scale = fitted(values, left, right, _MOST_TICKS, label_room)
    for at in found.at:
        x = scale.at(at)
        drawing.line(x, top, x, foot, RULE if at == 0.0 else GRID, 1.0)
        drawing.line(x, foot, x, foot + 4.0, RULE, 1.0)
        text = axis.tick(at, found.decimals)
        half = text_width(clean(text), SMALL) / 2.0
        x = min(max(x, EDGE + half), drawing.width - EDGE - half)
        drawing.text(x, foot + 6.0 + ASCENT * SMALL, text, size=SMALL, anchor="middle", fill=QUIET)
    drawing.line(left, foot, right, foot, RULE, 1.0)
    below = foot + 6.0 + LEADING * SMALL + 2.0
    room = drawing.width - 2.0 * EDGE
    widest = max((text_width(line, SMALL) for line in wrapped(axis.title, room, SMALL, 2)), default=0.0)
    middle = (left + right) / 2.0
    middle = min(max(middle, EDGE + widest / 2.0), drawing.width - EDGE - widest / 2.0)
    bottom = drawing.paragraph(middle, below, axis.title, room, size=SMALL, anchor="middle", fill=QUIET, most=2)
    return scale, bottom + EDGE
