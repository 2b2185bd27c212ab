"""The line drawing of an air path: a duct seen from the side, and a sign in it for each kind of piece."""

from collections.abc import Sequence
from math import cos, pi, sin
from typing import Final

from airwarrant.papers.pictures.air_path_parts import Kind
from airwarrant.papers.pictures.drawing import Box, Drawing
from airwarrant.papers.pictures.palette import ALERT, DUCT_TINT, INK, PAPER, PREDICTED, QUIET, RULE

Point = tuple[float, float]

#: Half the width of a duct, and of the widest sign in it.
HALF: Final = 7.0
WIDEST: Final = 14.0
#: Half the height of a box in the duct, and the pieces that are one.
BOX_HIGH: Final = 12.0
BOXES: Final = ("platform", "plenum")
_WALL: Final = 1.4
_BUMP: Final = 10.0


def draw_ducts(drawing: Drawing, ducts: Sequence[tuple[Sequence[Point], bool]]) -> None:
    """Ducts through points; where they meet they are open to each other. One that the work adds has a broken wall."""
    for points, new in ducts:
        dash = "7 4" if new else ""
        drawing.polyline(points, PREDICTED if new else RULE, 2.0 * HALF + _WALL, dash)
    for points, _ in ducts:
        drawing.polyline(points, DUCT_TINT, 2.0 * HALF - _WALL)


def draw_glyph(drawing: Drawing, kind: Kind, x: float, y: float, new: bool) -> float:
    """The sign of a piece with its middle at `x`, `y`; returns the x of its own middle, where a mark of it goes."""
    ink = PREDICTED if new else INK
    if kind == "grille":
        _slats(drawing, x, y, ink)
    elif kind == "filter":
        _pleats(drawing, x, y, 11.0, 4.5, ink)
    elif kind in BOXES:
        drawing.rect(Box(x - WIDEST, y - BOX_HIGH, x + WIDEST, y + BOX_HIGH), DUCT_TINT, ink, 1.4)
    elif kind == "collar":
        for at in (y - 3.0, y + 3.0):
            drawing.line(x - HALF - 3.0, at, x + HALF + 3.0, at, ink, 1.4)
    elif kind == "elbow":
        return _jog(drawing, x, y, ink)
    elif kind == "coil":
        _pleats(drawing, x, y, 11.0, 9.0, ink)
    elif kind == "blower":
        _wheel(drawing, x, y, ink)
    return x


def draw_flow(drawing: Drawing, x: float, y: float) -> None:
    """The way the air goes: down."""
    drawing.polyline([(x - 3.5, y - 2.0), (x, y + 2.0), (x + 3.5, y - 2.0)], QUIET, 1.3)


def draw_tight(drawing: Drawing, x: float, y: float, half: float = HALF) -> None:
    """Two wedges that leave a narrow throat."""
    for side in (-1.0, 1.0):
        drawing.polygon(
            [(x + side * (half + 2.0), y - 6.5), (x + side * 1.5, y), (x + side * (half + 2.0), y + 6.5)], ALERT
        )


def draw_fine(drawing: Drawing, x: float, y: float) -> None:
    """A tick."""
    drawing.polyline([(x - 4.0, y), (x - 1.0, y + 3.5), (x + 4.5, y - 4.0)], QUIET, 1.6)


def draw_new(drawing: Drawing, x: float, y: float) -> None:
    """A plus."""
    drawing.line(x - 4.0, y, x + 4.0, y, PREDICTED, 2.0)
    drawing.line(x, y - 4.0, x, y + 4.0, PREDICTED, 2.0)


def draw_leak(drawing: Drawing, wall: float, outside: float, y: float, inward: bool) -> None:
    """A broken arrow through the wall of the duct, its head where the air goes to."""
    tip, tail = (wall, outside) if inward else (outside, wall)
    side = 1.0 if tail > tip else -1.0
    drawing.line(tail, y, tip + side * 5.0, y, ALERT, 1.6, "3 2")
    drawing.polygon([(tip, y), (tip + side * 6.5, y - 3.8), (tip + side * 6.5, y + 3.8)], ALERT)


def _slats(drawing: Drawing, x: float, y: float, ink: str) -> None:
    box = Box(x - 13.0, y - 6.0, x + 13.0, y + 6.0)
    drawing.rect(box, PAPER, ink, 1.4)
    for at in range(1, 6):
        left = box.left + at * 26.0 / 6.0
        drawing.line(left, box.top + 2.0, left, box.bottom - 2.0, ink)


def _pleats(drawing: Drawing, x: float, y: float, half: float, high: float, ink: str) -> None:
    drawing.rect(Box(x - half, y - high, x + half, y + high), PAPER, ink, 1.2)
    count = 8
    drawing.polyline(
        [(x - half + 2.0 * half * at / count, y + (high - 1.5) * (1.0 if at % 2 else -1.0)) for at in range(count + 1)],
        ink,
        1.0,
    )


def _jog(drawing: Drawing, x: float, y: float, ink: str) -> float:
    drawing.rect(Box(x - HALF - 1.0, y - 13.0, x + HALF + 1.0, y + 13.0), PAPER)
    middle = x + _BUMP
    turns = [(x, y - 14.0), (x, y - 9.0), (middle, y - 9.0), (middle, y + 9.0), (x, y + 9.0), (x, y + 14.0)]
    drawing.polyline(turns, ink, 10.0 + _WALL)
    drawing.polyline([(x, y - 14.5), *turns[1:-1], (x, y + 14.5)], DUCT_TINT, 10.0 - _WALL)
    for at in (y - 14.0, y + 14.0):
        drawing.line(x - HALF - 1.5, at, x + HALF + 1.5, at, ink, 1.4)
    return middle


def _wheel(drawing: Drawing, x: float, y: float, ink: str) -> None:
    drawing.circle(x, y, WIDEST, PAPER, ink, 1.6)
    for blade in range(3):
        turn = pi / 2.0 + blade * 2.0 * pi / 3.0
        bend = turn + 0.6
        drawing.polyline(
            [
                (x, y),
                (x + 6.0 * cos(turn), y + 6.0 * sin(turn)),
                (x + 11.0 * cos(bend), y + 11.0 * sin(bend)),
            ],
            ink,
            1.8,
        )
    drawing.circle(x, y, 2.2, ink)
