"""What the picture of an air path is made of."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from airwarrant.papers.pictures.shown import Shown

Kind = Literal["grille", "filter", "duct", "platform", "plenum", "collar", "elbow", "coil", "blower", "branches"]
Mark = Literal["tight", "fine", ""]


@dataclass(frozen=True, slots=True)
class Leak:
    """A leaky place of a piece: which way the air goes there, how much and from or to where, and what is left after the work."""

    inward: bool
    text: str
    after: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the path.

    Attributes
    ----------
    lost, lost_after : Shown or None
        Its share of the pressure lost, in one unit over the whole picture; None where the piece loses none by itself (a
        blower) or there is no such state.
    mark : str
        ``tight`` and ``fine`` are drawn and said; without one nothing is said of the piece.
    note : str
        A short text below the name.
    new : bool
        Whether the work puts it there.
    """

    kind: Kind
    name: str
    lost: Shown | None = None
    lost_after: Shown | None = None
    mark: Mark = ""
    note: str = ""
    leaks: tuple[Leak, ...] = ()
    new: bool = False


@dataclass(frozen=True, slots=True)
class Outlet:
    """A room at the end of the path: its airflow as text in both states, and whether it gets too little."""

    name: str
    flow: str = ""
    flow_after: str = ""
    short: bool = False


@dataclass(frozen=True, slots=True)
class AirPath:
    """Returns side by side, each from its grille to where they meet; the pieces all air goes through, in order; the rooms."""

    returns: tuple[tuple[Piece, ...], ...]
    common: tuple[Piece, ...]
    rooms: tuple[Outlet, ...] = ()


@dataclass(frozen=True, slots=True)
class PathWords:
    """The words of the picture: heads, states, marks, and how many rooms of a long list are not drawn."""

    path: str
    lost: str
    found: str
    after: str
    tight: str
    fine: str
    new: str
    short: str
    rooms: str
    missing: str
    more: Callable[[int], str]
