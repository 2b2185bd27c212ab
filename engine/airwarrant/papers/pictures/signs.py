"""The signs of a picture: each kind of number has its own shape, so that colour is never the only difference."""

from dataclasses import dataclass
from typing import Final, Literal

from airwarrant.papers.pictures.drawing import Box, Drawing
from airwarrant.papers.pictures.palette import ALERT, FOUND, PAPER, PREDICTED, PREDICTED_TINT

Shape = Literal["ring", "diamond", "stroke", "square", "rise", "fall"]


@dataclass(frozen=True, slots=True)
class Sign:
    """How one kind of number looks: its shape, its colour, and the dash of a line through several."""

    shape: Shape
    colour: str
    dash: str = ""


AS_FOUND: Final = Sign("ring", FOUND, "5 3")
AS_PREDICTED: Final = Sign("diamond", PREDICTED)
AS_WANTED: Final = Sign("stroke", ALERT, "9 3 2 3")
AS_TOTAL: Final = Sign("square", FOUND)
AS_RISE: Final = Sign("rise", PREDICTED)
AS_FALL: Final = Sign("fall", ALERT)

_HALF: Final = 4.5
_BAND: Final = 3.5


def draw_sign(drawing: Drawing, sign: Sign, x: float, y: float, half: float = _HALF) -> None:
    """One sign with its middle at `x`, `y`."""
    if sign.shape == "ring":
        drawing.circle(x, y, half, "none", sign.colour, 1.8)
    elif sign.shape == "diamond":
        drawing.polygon(
            [(x, y - half - 0.5), (x + half + 0.5, y), (x, y + half + 0.5), (x - half - 0.5, y)], sign.colour
        )
    elif sign.shape == "stroke":
        drawing.line(x, y - 1.7 * half, x, y + 1.7 * half, sign.colour, 2.4)
    elif sign.shape == "square":
        drawing.rect(Box(x - half + 0.5, y - half + 0.5, x + half - 0.5, y + half - 0.5), sign.colour)
    elif sign.shape == "rise":
        drawing.polygon([(x - half, y - half), (x + half, y), (x - half, y + half)], sign.colour)
    else:
        drawing.polygon([(x + half, y - half), (x - half, y), (x + half, y + half)], PAPER, sign.colour, 1.4)


def draw_range(drawing: Drawing, sign: Sign, begin: float, end: float, y: float) -> None:
    """A range along a row: a hatched band for a prediction, a line with end strokes for anything else."""
    begin, end = min(begin, end), max(begin, end)
    if sign.shape == "diamond":
        # A range narrower than its outline still shows.
        band = Box(begin - 0.8, y - _BAND, end + 0.8, y + _BAND)
        drawing.rect(band, PREDICTED_TINT, sign.colour)
        drawing.hatch(band, sign.colour)
        return
    drawing.line(begin, y, end, y, sign.colour, 1.2)
    for x in (begin, end):
        drawing.line(x, y - _BAND, x, y + _BAND, sign.colour, 1.2)
