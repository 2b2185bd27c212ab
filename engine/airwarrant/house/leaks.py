"""Where leaks sit and what they draw from: the place is read from the record or follows from two readings, never assumed in silence."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from airwarrant.air.leakage import LEAK_EXPONENT, TEST_PRESSURE, pressure_of_leakage
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.inputs import Floats, Inputs, Sets
from airwarrant.house.pieces import Piece
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import reading
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord

_UNIT = ("unit", 1.0)
#: Word of the record -> (piece, where on it): a share of the piece's drop from its end nearer the rooms. Of several the first that the
#: house has; a unit it always has.
_PLACES: Mapping[tuple[str, str], tuple[tuple[str, float], ...]] = {
    ("return", "grille"): (("filter-grille", 1.0),),
    ("return", "platform"): (("filter-grille", 1.0),),
    ("return", "duct"): (("return-duct", 0.5), ("platform", 0.5)),
    ("return", "box"): (("return-duct", 1.0), ("platform", 1.0)),
    ("return", "elbow"): (("return-elbow", 0.5), _UNIT),
    ("return", "plenum"): (_UNIT,),
    ("return", "unit"): (_UNIT,),
    ("supply", "unit"): (_UNIT,),
    ("supply", "elbow"): (("supply-elbow", 0.5), _UNIT),
    ("supply", "coil"): (("coil", 0.5), _UNIT),
    ("supply", "plenum"): (("branches", 1.0),),
    ("supply", "box"): (("branches", 1.0),),
    ("supply", "duct"): (("branches", 0.5),),
    ("supply", "branches"): (("branches", 0.5),),
}
_SNAP = 0.06
#: Least leakage at 25 Pa that a place can have [m3/s]; a test that found nothing found less than this.
_LEAST = 1e-6


@dataclass(frozen=True, slots=True)
class Leak:
    """One leaky place of a side.

    Attributes
    ----------
    id : str
        Key of the record's item, or ``return leak``, ``supply leak`` for a side's as a whole.
    at : str
        The record's word for where it sits; empty where the place follows from the readings.
    space : str
    zone : str
        Combustion zone it draws from; empty if none.
    at_25 : Reading or None
        The reading at 25 Pa that tells of it.
    name : str
        Input that holds this reading.
    part : float
        Share of the reading that is this place's.
    halved : bool
        Only both sides together were tested, and half is taken on each.
    """

    id: str
    side: str
    at: str
    space: str
    zone: str
    at_25: Reading | None
    name: str
    part: float = 1.0
    halved: bool = False

    def tested(self, sets: Sets) -> Floats:
        """Its leakage at 25 Pa [m3/s], (sets,); only where `at_25` is read."""
        return np.asarray(np.maximum(sets.positive(self.name) * self.part, _LEAST))


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
    """Leaky places of a side: the record's, else one for the whole side.

    Places without a reading of their own share what the side's test leaves for them.
    """
    whole = _whole(record, side)
    items = [i for i in record.items.values() if i.kind == "leak" and i.words.get("side") == side]
    if not items:
        zone = next((i.links.get("zone", "") for i in record.items.values() if i.kind == "platform"), "")
        words = record.items[HOUSE_KEY].words
        space = words.get("return_path_space", "attic")
        if side == "supply":
            space = words.get("supply_path_space", space)
        return [replace(whole, id=f"{side} leak", space=space, zone=zone if side == "return" else "")]
    own = {item.key: reading(record, item.key, "leak_25", "found") for item in items}
    unread = [key for key, one in own.items() if one is None]
    rest = 0.0
    if unread and whole.at_25 is not None and whole.at_25.value > 0.0:
        known = sum(si(one) for one in own.values() if one is not None)
        rest = max(whole.part - known / si(whole.at_25), 0.0) / len(unread)
    leaks = []
    for item in items:
        at, space, zone = item.words.get("at", ""), item.words.get("space", ""), item.links.get("zone", "")
        leak = replace(whole, part=rest) if item.key in unread else Leak("", side, "", "", "", own[item.key], "")
        name = leak.name or f"{item.key}.leak_25"
        leaks.append(replace(leak, id=item.key, at=at, space=space, zone=zone, name=name))
    return leaks


def _whole(record: JobRecord, side: str) -> Leak:
    """A side's leak as a whole by its own test, by both sides' test less the other side's, or by half of it."""
    other = "supply" if side == "return" else "return"
    own, rest, both = (
        reading(record, HOUSE_KEY, name, "found")
        for name in (f"leakage_{side}_25", f"leakage_{other}_25", "leakage_25")
    )
    if own is not None or both is None:
        return Leak("", side, "", "", "", own, f"house.leakage_{side}_25")
    if rest is None:
        return Leak("", side, "", "", "", both, "house.leakage_25", 0.5, halved=True)
    part = max(1.0 - rest.value / both.value, 0.0) if both.value else 0.0
    return Leak("", side, "", "", "", both, "house.leakage_25", part)


def gather_leaks(leaks: Sequence[Leak], inputs: Inputs, assumptions: Assumptions) -> None:
    """Tell what is uncertain: each leakage test once."""
    for leak in leaks:
        if leak.at_25 is not None:
            doubt = assumptions.doubt(leak.at_25, leak.name.partition(".")[2])
            inputs.add(leak.name, si(leak.at_25), doubt / 2.0)


def place_leaks(
    leaks: Sequence[Leak],
    pieces: Sequence[Piece],
    drops: Sequence[Floats],
    sets: Sets,
    total: Floats | None,
    slack: float,
) -> tuple[list[Placed], tuple[str, ...]]:
    """Put each leak on its side.

    Parameters
    ----------
    drops : sequence of ndarray (sets,)
        By piece, from the rooms to the unit [Pa].
    total : ndarray (sets,) or None
        Leakage of the side while running [m3/s], for a leak whose place follows from it; None before it is known.
    slack : float
        How far beyond the static at the unit a place may come out before that is told, as a share.

    Returns
    -------
    list of Placed, and notes
        A place beyond the static at the unit is a contradiction: the leak is put at the unit and a note says so.
    """
    ids = [piece.id for piece in pieces]
    ports = np.cumsum(np.stack(drops), axis=0)
    placed, notes = [], []
    tests = [leak.tested(sets) for leak in leaks if leak.at_25 is not None]
    usual = sum(tests, start=np.zeros(sets.count)) / len(tests) if tests else np.ones(sets.count)
    for leak in leaks:
        known = _known(leak, ids)
        if known is None and total is not None and leak.at_25 is not None and len(leaks) == 1:
            place = pressure_of_leakage(leak.tested(sets), TEST_PRESSURE, total, LEAK_EXPONENT)
            piece, share, note = _between(leak, place, ports, slack)
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
        at_25 = leak.tested(sets) if leak.at_25 is not None else usual
        placed.append(Placed(leak, piece, share, pressure, at, at_25 * at**LEAK_EXPONENT, read))
    return placed, tuple(notes)


def _known(leak: Leak, ids: list[str]) -> tuple[int, float] | None:
    for piece, share in _PLACES.get((leak.side, leak.at), ()):
        if piece in ids:
            return ids.index(piece), share
        if piece == "unit":
            return len(ids) - 1, 1.0
    return None


def _between(leak: Leak, place: Floats, ports: Floats, slack: float) -> tuple[int, float, str]:
    """Piece and share of its drop where a leak sits by its equivalent pressure, at the point."""
    at, port = float(place[0]), ports[:, 0]
    if at >= port[-1]:
        beyond = at > (1.0 + slack) * port[-1]
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
