"""What is wrong with a made house, or with its record: drawn first, so that what an evaluation finds can be held against it."""

from collections.abc import Sequence
from dataclasses import dataclass

from airwarrant.made_jobs import figures
from airwarrant.made_jobs.stream import Stream

HEALTHY = "healthy"
_OF_HOUSE = frozenset(("house", "room"))


@dataclass(frozen=True, slots=True)
class Planted:
    """What one job was given.

    Attributes
    ----------
    healthy : bool
        The house was made to need nothing.
    causes : tuple of str
        In the order of the figures.
    """

    healthy: bool
    causes: tuple[str, ...]

    def __contains__(self, cause: str) -> bool:
        return cause in self.causes


def draw_causes(stream: Stream, climate: str, form: str) -> Planted:
    """Draw what a house of a climate and form has.

    A healthy house has no cause of house, room or record. Every cause is drawn whether or not the house can have it, so that one
    cause's chance does not move another.
    """
    healthy = stream.happens(_share(HEALTHY, climate))
    drawn: list[str] = []
    for cause in figures.causes():
        comes = stream.happens(_share(f"cause/{cause}", climate))
        if comes and not (healthy and _spoils(cause)) and _can(cause, form, drawn):
            drawn.append(cause)
    return Planted(healthy, tuple(drawn))


def _share(path: str, climate: str) -> float:
    own = f"{path}/climate/{climate}"
    return figures.number(own if figures.has(own) else f"{path}/share")


def _spoils(cause: str) -> bool:
    return figures.text(f"cause/{cause}/of") in _OF_HOUSE | {"record"}


def _can(cause: str, form: str, drawn: Sequence[str]) -> bool:
    path = f"cause/{cause}"
    forms, one_of = figures.names(f"{path}/forms"), figures.names(f"{path}/needs_any")
    needs = figures.text(f"{path}/needs") if figures.has(f"{path}/needs") else ""
    return (
        (not forms or form in forms)
        and (not needs or needs in drawn)
        and (not one_of or any(one in drawn for one in one_of))
        and not any(one in drawn for one in figures.names(f"{path}/not_with"))
    )
