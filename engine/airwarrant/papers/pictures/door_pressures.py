"""Pressure in each room with its door shut: as found, predicted, and the most that is allowed."""

from collections.abc import Sequence
from dataclasses import dataclass

from airwarrant.papers.pictures.pages import PageWords
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.side_by_side import Kind, side_by_side
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
    kinds = (
        Kind(words.found, AS_FOUND, [door.found for door in doors]),
        Kind(words.predicted, AS_PREDICTED, [door.predicted for door in doors]),
        Kind(words.limit, AS_WANTED, [door.limit for door in doors]),
    )
    names = [door.name for door in doors]
    return side_by_side(frame, names, kinds, axis, words.door, words.missing, words.page, most)
