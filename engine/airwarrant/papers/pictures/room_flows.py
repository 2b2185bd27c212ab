"""Air into each room: as found, asked for, predicted."""

from collections.abc import Sequence
from dataclasses import dataclass

from airwarrant.papers.pictures.pages import PageWords
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.side_by_side import Kind, side_by_side
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
    kinds = (
        Kind(words.found, AS_FOUND, [room.found for room in rooms]),
        Kind(words.target, AS_WANTED, [room.target for room in rooms]),
        Kind(words.predicted, AS_PREDICTED, [room.predicted for room in rooms]),
    )
    names = [room.name for room in rooms]
    return side_by_side(frame, names, kinds, axis, words.room, words.missing, words.page, most)
