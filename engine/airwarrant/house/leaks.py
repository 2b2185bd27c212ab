"""Where leaks sit and what they draw from: the place is read from the record or follows from two readings, never assumed in silence."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.flows import LEAK_EXPONENT, place_of_leak
from airwarrant.house.inputs import Floats, Inputs, Sets
from airwarrant.house.pieces import Piece
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import reading
from airwarrant.job.readings import Reading
from airwarrant.job.record import Item, JobRecord

#: Word of the record -> (piece, where on it): a share of the piece's drop from its end nearer the rooms.
_PLACES = {
    ("return", "grille"): ("filter-grille", 1.0),
    ("return", "platform"): ("filter-grille", 1.0),
    ("return", "duct"): ("return-duct", 0.5),
    ("return", "box"): ("return-duct", 1.0),
    ("return", "elbow"): ("return-elbow", 0.5),
    ("supply", "elbow"): ("supply-elbow", 0.5),
    ("supply", "coil"): ("coil", 0.5),
    ("supply", "plenum"): ("branches", 1.0),
    ("supply", "branches"): ("branches", 0.5),
}
_SNAP = 0.06


@dataclass(frozen=True, slots=True)
class Leak:
    """One leaky place of a side.

    Attributes
    ----------
    id : str
        Key of the record's item, or ``return-leak``, ``supply-leak``.
    at : str
        The record's word for where it sits; empty where the place follows from the readings.
    space : str
    zone : str
        Combustion zone it draws from; empty if none.
    at_25 : Reading or None
        Its leakage at 25 Pa.
    name : str
        Input that holds it.
    """

    id: str
    side: str
    at: str
    space: str
    zone: str
    at_25: Reading | None
    name: str


@dataclass(frozen=True, slots=True)
class Placed:
    """A leak on the path.

    Attributes
    ----------
    piece, share : int, float
        It joins after this share of that piece's drop, from the rooms' end; a share of 1 is the port itself.
    pressure : ndarray (sets,)
        Pressure there without its sign [Pa].
    place : ndarray (sets,)
        Pressure where the leak itself sits [Pa]: along the outermost piece it is less than at the port where the leak is joined.
    coefficient : ndarray (sets,)
        Share of the side's leakage that is its own: its weight by ``cfm25 · p^0.6``.
    read : bool
        Whether the place is read; otherwise it is spread evenly over the side.
    """

    leak: Leak
    piece: int
    share: float
    pressure: Floats
    place: Floats
    coefficient: Floats
    read: bool


def leaks_of(record: JobRecord, side: str) -> list[Leak]:
    """Leaky places of a side: the record's, else one for the whole side."""
    items = [i for i in record.items.values() if i.kind == "leak" and i.words.get("side") == side]
    if items:
        return [_leak(record, item, side) for item in items]
    whole = reading(record, HOUSE_KEY, f"leakage_{side}_25", "found")
    zone = next((i.links.get("zone", "") for i in record.items.values() if i.kind == "platform"), "")
    space = record.items[HOUSE_KEY].words.get("return_path_space", "attic")
    return [Leak(f"{side}-leak", side, "", space, zone if side == "return" else "", whole, f"house.leakage_{side}_25")]


def _leak(record: JobRecord, item: Item, side: str) -> Leak:
    at_25 = reading(record, item.key, "leak_25", "found")
    zone = item.links.get("zone", "")
    return Leak(
        item.key, side, item.words.get("at", ""), item.words.get("space", ""), zone, at_25, f"{item.key}.leak_25"
    )


def gather_leaks(leaks: Sequence[Leak], inputs: Inputs, assumptions: Assumptions) -> None:
    for leak in leaks:
        if leak.at_25 is not None:
            doubt = assumptions.doubt(leak.at_25, leak.name.partition(".")[2])
            inputs.add(leak.name, si(leak.at_25), doubt / 2.0)


def place_leaks(
    leaks: Sequence[Leak], pieces: Sequence[Piece], drops: Sequence[Floats], sets: Sets, total: Floats | None
) -> tuple[list[Placed], tuple[str, ...]]:
    """Put each leak on its side.

    Parameters
    ----------
    drops : sequence of ndarray (sets,)
        By piece, from the rooms to the unit [Pa].
    total : ndarray (sets,) or None
        Leakage of the side while running [m3/s], for a leak whose place follows from it; None before it is known.

    Returns
    -------
    list of Placed, and notes
        A place beyond the static at the unit is a contradiction: the leak is put at the unit and a note says so.
    """
    ids = [piece.id for piece in pieces]
    ports = np.cumsum(np.stack(drops), axis=0)
    placed, notes = [], []
    for leak in leaks:
        known = _known(leak, ids)
        if known is None and total is not None and leak.at_25 is not None and len(leaks) == 1:
            place = place_of_leak(total, sets.positive(leak.name))
            piece, share, note = _between(leak, place, ports)
            known = (piece, share)
            notes += [note] if note else []
            lower = ports[piece - 1] if piece else np.zeros(sets.count)
            inside = np.clip(place, lower + 0.05 * (ports[piece] - lower), ports[piece])
            pressure = inside if share < 1.0 else ports[piece]
            placed.append(Placed(leak, piece, share, pressure, place, np.ones(sets.count), True))
            continue
        read = known is not None
        piece, share = known or (len(ids) // 2, 1.0)
        lower = ports[piece - 1] if piece else np.zeros(sets.count)
        at = lower + share * (ports[piece] - lower)
        # Leaks along the outermost piece are joined at its port, with the coefficient that gives their flow.
        share = share if piece else 1.0
        pressure = at if piece else ports[piece]
        at_25 = sets.positive(leak.name) if leak.at_25 is not None else np.ones(sets.count)
        placed.append(Placed(leak, piece, share, pressure, at, at_25 * at**LEAK_EXPONENT, read))
    return placed, tuple(notes)


def _known(leak: Leak, ids: list[str]) -> tuple[int, float] | None:
    if leak.at == "unit":
        return len(ids) - 1, 1.0
    piece, share = _PLACES.get((leak.side, leak.at), ("", 0.0))
    if piece not in ids:
        return None
    return ids.index(piece), share


def _between(leak: Leak, place: Floats, ports: Floats) -> tuple[int, float, str]:
    """Piece and share of its drop where a leak sits by its equivalent pressure, at the point."""
    at, port = float(place[0]), ports[:, 0]
    if at >= port[-1]:
        beyond = at > 1.15 * port[-1]
        note = (
            f"the leak of the {leak.side} side would sit at {at:.0f} Pa, beyond the {port[-1]:.0f} Pa at the unit: "
            "leakage test and flows do not agree"
        )
        return len(port) - 1, 1.0, note if beyond else ""
    piece = int(np.searchsorted(port, at))
    if piece == 0:
        return 0, 1.0, ""
    share = (at - port[piece - 1]) / (port[piece] - port[piece - 1])
    if share < _SNAP:
        return piece - 1, 1.0, ""
    return piece, 1.0 if share > 1.0 - _SNAP else float(share), ""
