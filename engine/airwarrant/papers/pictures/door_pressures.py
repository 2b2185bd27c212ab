"""Pressure in each room with its door shut: as found, predicted, and the most that is allowed."""

from collections.abc import Sequence
from dataclasses import dataclass

from airwarrant.papers.pictures.drawing import Drawing
from airwarrant.papers.pictures.pages import PageWords, pages
from airwarrant.papers.pictures.rows import Column, draw_rows, draw_series
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.signs import AS_FOUND, AS_PREDICTED, AS_WANTED


@dataclass(frozen=True, slots=True)
class Door:
    """A door, named by its room, and the pressures over it, in the unit of the axis."""

    name: str
    found: Shown = MISSING
    predicted: Shown = MISSING
    limit: Shown = MISSING


@dataclass(frozen=True, slots=True)
class DoorWords:
    """The heads of the columns, what stands for a missing number, and what a page of several is called."""

    door: str
    found: str
    predicted: str
    limit: str
    missing: str
    page: PageWords


def door_pressures(
    frame: Frame, doors: Sequence[Door], axis: Axis, words: DoorWords, most: int = 20
) -> tuple[str, ...]:
    """Return pictures of at most `most` doors, all on one scale; none for no doors."""
    values = [0.0, *(v for door in doors for s in (door.found, door.predicted, door.limit) for v in s.places())]
    return tuple(
        _picture(Drawing(page), some, axis, words, values) for page, some in pages(frame, doors, most, words.page)
    )


def _picture(drawing: Drawing, doors: Sequence[Door], axis: Axis, words: DoorWords, values: list[float]) -> str:
    found = [door.found for door in doors]
    predicted = [door.predicted for door in doors]
    limit = [door.limit for door in doors]
    columns = [
        Column(head, sign, tuple(one.words(words.missing) for one in shown))
        for head, sign, shown in (
            (words.found, AS_FOUND, found),
            (words.predicted, AS_PREDICTED, predicted),
            (words.limit, AS_WANTED, limit),
        )
    ]
    placed = draw_rows(drawing, [door.name for door in doors], columns, axis, values, heading=words.door)
    draw_series(drawing, placed, AS_WANTED, limit)
    draw_series(drawing, placed, AS_PREDICTED, predicted)
    draw_series(drawing, placed, AS_FOUND, found)
    return drawing.svg(placed.bottom)
