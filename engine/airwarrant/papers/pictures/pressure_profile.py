"""Static pressure along the air path, from room to room."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from airwarrant.papers.pictures.drawing import Drawing
from airwarrant.papers.pictures.rows import Column, Placed, draw_rows, draw_series
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.signs import AS_FOUND, AS_PREDICTED, Sign


@dataclass(frozen=True, slots=True)
class Station:
    """A place of the path and the static pressure there, in the unit of the axis."""

    name: str
    found: Shown = MISSING
    predicted: Shown = MISSING


@dataclass(frozen=True, slots=True)
class ProfileWords:
    """What stands over the names, the heads of the columns, and what stands for a missing number."""

    place: str
    found: str
    predicted: str
    missing: str


def pressure_profile(frame: Frame, stations: Sequence[Station], axis: Axis, words: ProfileWords) -> str:
    """Return the picture, the path running down it in the order of `stations`.

    A station that is missing in one state is left out of that state's line, which is then broken there.
    """
    drawing = Drawing(frame)
    found = [station.found for station in stations]
    predicted = [station.predicted for station in stations]
    columns = [
        Column(words.found, AS_FOUND, tuple(one.words(words.missing) for one in found)),
        Column(words.predicted, AS_PREDICTED, tuple(one.words(words.missing) for one in predicted)),
    ]
    values = [0.0, *(v for one in (*found, *predicted) for v in one.places())]
    placed = draw_rows(drawing, [station.name for station in stations], columns, axis, values, heading=words.place)
    for sign, shown in ((AS_FOUND, found), (AS_PREDICTED, predicted)):
        _join(drawing, placed, sign, shown)
    for sign, shown in ((AS_PREDICTED, predicted), (AS_FOUND, found)):
        draw_series(drawing, placed, sign, shown)
    return drawing.svg(placed.bottom)


def _join(drawing: Drawing, placed: Placed, sign: Sign, shown: Sequence[Shown]) -> None:
    points = [
        None if one.middle is None else (placed.scale.at(one.middle), y)
        for y, one in zip(placed.strips, shown, strict=True)
    ]
    for a, b in pairwise(points):
        if a is not None and b is not None:
            drawing.line(*a, *b, sign.colour, 1.8, sign.dash)
