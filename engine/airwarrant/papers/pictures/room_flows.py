"""Air into each room: as found, asked for, predicted."""

from collections.abc import Sequence
from dataclasses import dataclass

from airwarrant.papers.pictures.drawing import Drawing
from airwarrant.papers.pictures.pages import PageWords, pages
from airwarrant.papers.pictures.rows import Column, draw_rows, draw_series
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.signs import AS_FOUND, AS_PREDICTED, AS_WANTED


@dataclass(frozen=True, slots=True)
class RoomFlow:
    """A room and its airflows, in the unit of the axis."""

    name: str
    found: Shown = MISSING
    target: Shown = MISSING
    predicted: Shown = MISSING


@dataclass(frozen=True, slots=True)
class RoomWords:
    """The heads of the columns, what stands for a missing number, and what a page of several is called."""

    room: str
    found: str
    target: str
    predicted: str
    missing: str
    page: PageWords


def room_flows(
    frame: Frame, rooms: Sequence[RoomFlow], axis: Axis, words: RoomWords, most: int = 20
) -> tuple[str, ...]:
    """Return pictures of at most `most` rooms, all on one scale; none for no rooms."""
    values = [0.0, *(v for room in rooms for s in (room.found, room.target, room.predicted) for v in s.places())]
    return tuple(
        _picture(Drawing(page), some, axis, words, values) for page, some in pages(frame, rooms, most, words.page)
    )


def _picture(drawing: Drawing, rooms: Sequence[RoomFlow], axis: Axis, words: RoomWords, values: list[float]) -> str:
    kinds = (
        (words.target, AS_WANTED, [room.target for room in rooms]),
        (words.predicted, AS_PREDICTED, [room.predicted for room in rooms]),
        (words.found, AS_FOUND, [room.found for room in rooms]),
    )
    columns = [Column(head, sign, tuple(s.words(words.missing) for s in shown)) for head, sign, shown in kinds]
    placed = draw_rows(
        drawing, [r.name for r in rooms], [columns[i] for i in (2, 0, 1)], axis, values, heading=words.room
    )
    for _, sign, shown in kinds:
        draw_series(drawing, placed, sign, shown)
    return drawing.svg(placed.bottom)
