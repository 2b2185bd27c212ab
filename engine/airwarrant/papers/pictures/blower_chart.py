"""The new unit's blower curve, the systems it pushes against, and where the two meet."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from typing import Final

from airwarrant.papers.pictures.axes import Scale, Ticks, fitted
from airwarrant.papers.pictures.characters import clean
from airwarrant.papers.pictures.direct_labels import Placement, Point, place
from airwarrant.papers.pictures.drawing import ASCENT, LEADING, SMALL, Box, Drawing
from airwarrant.papers.pictures.fitting import text_width
from airwarrant.papers.pictures.palette import GRID, INK, PAPER, QUIET, RULE
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.signs import AS_FOUND, AS_PREDICTED, AS_WANTED, Sign, draw_sign

_EDGE: Final = 4.0
_SHAPE: Final = 0.56
_LEAST_HEIGHT: Final = 240.0
_ROW_DOT: Final = 2.3
_SAMPLE: Final = 26.0
_CAP: Final = 3.5
_MOST_TICKS: Final = 8


@dataclass(frozen=True, slots=True)
class Curve:
    """A named line through (flow, static) points, in the units of the two axes. A point that is no number is left out."""

    label: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Operation:
    """A system and where the blower meets it: its curve, the words at the point, and the point with its range."""

    curve: Curve
    label: str = ""
    flow: Shown = MISSING
    static: Shown = MISSING


@dataclass(frozen=True, slots=True)
class Limit:
    """A static pressure that the label of the unit allows at most."""

    label: str
    static: Shown


@dataclass(frozen=True, slots=True)
class _Name:
    """A text for a line, or with a sign for the one point of `line`."""

    text: str
    line: Sequence[Point]
    colour: str
    sign: Sign | None = None
    dash: str = ""


@dataclass(slots=True)
class _Chart:
    drawing: Drawing
    x: Scale
    y: Scale
    plot: Box
    segments: list[tuple[Point, Point]]
    keyed: list[_Name]

    def at(self, flow: float, static: float) -> Point:
        return self.x.at(flow), self.y.at(static)


def blower_chart(
    frame: Frame,
    blower: Curve,
    flow_axis: Axis,
    static_axis: Axis,
    *,
    before: Operation | None = None,
    after: Operation | None = None,
    limit: Limit | None = None,
) -> str:
    """Return the picture. The dots of the blower's line are the rows of its table; between two it is drawn straight.

    A label that finds no clear place beside what it names goes to a list below the chart with a sample of its line or sign.
    """
    operations = [(op, sign) for op, sign in ((before, AS_FOUND), (after, AS_PREDICTED)) if op is not None]
    chart = _framed(Drawing(frame), blower, [op for op, _ in operations], limit, flow_axis, static_axis)
    drawing = chart.drawing
    if limit is not None and limit.static.at is not None:
        y = chart.y.at(limit.static.at)
        _line(chart, [(chart.plot.left, y), (chart.plot.right, y)], AS_WANTED.colour, 1.8, AS_WANTED.dash)
    for operation, sign in operations:
        _line(chart, _placed(chart, operation.curve), sign.colour, 1.5, sign.dash)
    rows = _placed(chart, blower)
    _line(chart, rows, INK, 2.0, "")
    for x, y in rows:
        drawing.circle(x, y, _ROW_DOT, INK)
    points = [(operation, sign, _point(chart, operation, sign)) for operation, sign in operations]
    names = [_Name(op.label, [point], sign.colour, sign) for op, sign, point in points if point is not None]
    if limit is not None and limit.static.at is not None:
        y = chart.y.at(limit.static.at)
        ends = [(chart.plot.left, y), (chart.plot.right, y)]
        names.append(_Name(limit.label, ends, AS_WANTED.colour, None, AS_WANTED.dash))
    names.append(_Name(blower.label, rows, INK))
    names += [_Name(op.curve.label, _placed(chart, op.curve), sign.colour, None, sign.dash) for op, sign in operations]
    for name in names:
        _label(chart, name)
    return drawing.svg(_key(chart, flow_axis) + _EDGE)


def _framed(
    drawing: Drawing,
    blower: Curve,
    operations: Sequence[Operation],
    limit: Limit | None,
    flow_axis: Axis,
    static_axis: Axis,
) -> _Chart:
    """The two axes: ticks, helper lines, and the title of the upright one above it."""
    curves = [blower, *(op.curve for op in operations)]
    flows = [0.0, *(p[0] for c in curves for p in _numbers(c)), *(v for op in operations for v in op.flow.places())]
    statics = [0.0, *(p[1] for c in curves for p in _numbers(c)), *(v for op in operations for v in op.static.places())]
    statics += limit.static.places() if limit is not None else ()
    # Flows of a blower lie together, far from none: the axis begins where they do.
    flows = flows[1:] or flows
    top = drawing.paragraph(_EDGE, _EDGE, static_axis.title, drawing.width - 2 * _EDGE, size=SMALL, fill=QUIET) + 8.0
    foot = top + max(_SHAPE * drawing.width, _LEAST_HEIGHT)
    up, y = fitted(statics, foot, top, _MOST_TICKS, lambda _: 22.0)
    left = _EDGE + 6.0 + max(text_width(clean(static_axis.tick(v, up.decimals)), SMALL) for v in up.at)

    def label_room(found: Ticks) -> float:
        return max(text_width(clean(flow_axis.tick(v, found.decimals)), SMALL) for v in found.at) + 12.0

    across, x = fitted(flows, left, drawing.width - _EDGE - 18.0, _MOST_TICKS, label_room)
    for value in up.at:
        at = y.at(value)
        drawing.line(left, at, x.end, at, GRID)
        drawing.line(left - 4.0, at, left, at, RULE)
        text = static_axis.tick(value, up.decimals)
        drawing.text(left - 6.0, at + 0.35 * SMALL, text, size=SMALL, anchor="end", fill=QUIET)
    for value in across.at:
        at = x.at(value)
        drawing.line(at, top, at, foot, GRID)
        drawing.line(at, foot, at, foot + 4.0, RULE)
        text = flow_axis.tick(value, across.decimals)
        half = text_width(clean(text), SMALL) / 2.0
        at = min(max(at, _EDGE + half), drawing.width - _EDGE - half)
        drawing.text(at, foot + 8.0 + ASCENT * SMALL, text, size=SMALL, anchor="middle", fill=QUIET)
    drawing.line(left, foot, x.end, foot, RULE)
    drawing.line(left, top, left, foot, RULE)
    return _Chart(drawing, x, y, Box(left, top, x.end, foot), [], [])


def _numbers(curve: Curve) -> list[tuple[float, float]]:
    return [(flow, static) for flow, static in curve.points if isfinite(flow) and isfinite(static)]


def _placed(chart: _Chart, curve: Curve) -> list[Point]:
    return [chart.at(*point) for point in _numbers(curve)]


def _line(chart: _Chart, points: Sequence[Point], colour: str, width: float, dash: str) -> None:
    chart.drawing.polyline(points, colour, width, dash)
    chart.segments.extend(pairwise(points))


def _point(chart: _Chart, operation: Operation, sign: Sign) -> Point | None:
    """The point with its two ranges, and what of it a label must keep clear of."""
    flow, static = operation.flow.middle, operation.static.middle
    if flow is None or static is None:
        return None
    x, y = chart.at(flow, static)
    drawing = chart.drawing
    if operation.flow.range is not None:
        a, b = (chart.x.at(v) for v in operation.flow.range)
        drawing.line(a, y, b, y, sign.colour, 1.6)
        for end in (a, b):
            drawing.line(end, y - _CAP, end, y + _CAP, sign.colour, 1.6)
        chart.segments.append(((a, y), (b, y)))
    if operation.static.range is not None:
        a, b = (chart.y.at(v) for v in operation.static.range)
        drawing.line(x, a, x, b, sign.colour, 1.6)
        for end in (a, b):
            drawing.line(x - _CAP, end, x + _CAP, end, sign.colour, 1.6)
        chart.segments.append(((x, a), (x, b)))
    drawing.circle(x, y, 7.5, PAPER)
    draw_sign(drawing, sign, x, y, 5.0)
    return x, y


def _spread(points: Sequence[Point]) -> list[Point]:
    """Places along a line where its label may stand: from its far end towards its beginning."""
    along: list[Point] = []
    for (x1, y1), (x2, y2) in pairwise(points):
        along += [(x1 + (x2 - x1) * part / 4.0, y1 + (y2 - y1) * part / 4.0) for part in range(4)]
    return [*along, *points[-1:]][::-1]


def _label(chart: _Chart, name: _Name) -> None:
    if not clean(name.text) or not name.line:
        return
    own = set(pairwise(name.line))
    others = () if name.sign is not None else [segment for segment in chart.segments if segment not in own]
    far = name.sign is not None
    found = place(name.text, _spread(name.line), chart.plot, chart.drawing.texts, chart.segments, others, far)
    if found is None:
        chart.keyed.append(name)
        return
    if found.leader is not None:
        chart.segments.append(found.leader)
    _write(chart.drawing, found, name.colour)


def _write(drawing: Drawing, found: Placement, colour: str) -> None:
    if found.leader is not None:
        (x1, y1), (x2, y2) = found.leader
        drawing.line(x1, y1, x2, y2, colour, 0.8)
    drawing.rect(found.box, PAPER)
    for at, line in enumerate(found.lines):
        drawing.text(found.box.left, found.box.top + SMALL * (ASCENT + at * LEADING), line, size=SMALL, fill=colour)


def _key(chart: _Chart, flow_axis: Axis) -> float:
    """The title of the flow axis, then what found no place in the chart; returns where that ends."""
    drawing = chart.drawing
    room = drawing.width - 2.0 * _EDGE
    top = chart.plot.bottom + 8.0 + LEADING * SMALL + 2.0
    y = drawing.paragraph(drawing.width / 2.0, top, flow_axis.title, room, size=SMALL, anchor="middle", fill=QUIET)
    for name in chart.keyed:
        y += 4.0
        middle = y + SMALL * 0.45
        if name.sign is None:
            drawing.line(_EDGE, middle, _EDGE + _SAMPLE, middle, name.colour, 2.0, name.dash)
        else:
            draw_sign(drawing, name.sign, _EDGE + _SAMPLE / 2.0, middle, 4.0)
        left = _EDGE + _SAMPLE + 8.0
        room = drawing.width - left - _EDGE
        y = drawing.paragraph(left, y, name.text, room, size=SMALL, fill=name.colour, most=3)
    return y
