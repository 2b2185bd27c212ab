"""Design airflow of every room: written, or its share of the house's sensible cooling load.

Order of evidence: a target written for the room; the rooms' loads in the record; loads from walls and windows (`room_loads`); floor
area alone, which is told but is too weak to judge a room by.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import fsum
from types import MappingProxyType
from typing import Literal

from airwarrant.air.room_load import doubts_of_shares
from airwarrant.house import room_loads as open_route
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.room_loads import room_loads, rooms_of
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.readings import Reading, State
from airwarrant.job.record import Item, JobRecord
from airwarrant.units import UNITS

Method = Literal["written", "loads", "construction", "area"]
Confidence = Literal["high", "medium", "low"]

#: Policy parameter -> unit it must convert to.
NEEDED: Mapping[str, str] = MappingProxyType(
    {
        "load_design_flow": "cfm/ton",
        "load_loads_doubt": "%",
        "load_part_doubt": "%",
        "load_room_doubt": "%",
        "load_area_doubt": "%",
        **open_route.NEEDED,
    }
)

_FIELD = KINDS["room"].fields["target"]


@dataclass(frozen=True, slots=True)
class Target:
    """Design airflow of a room.

    Attributes
    ----------
    flow : Reading
        In cfm. As the record has it where written; ``stated`` from the record's loads, else ``assumed``.
    share : float
        Of what all rooms together should get, 0..1.
    method : {"written", "loads", "construction", "area"}
    confidence : {"high", "medium", "low"}
    parts : mapping of str to float
        What the share was made of: pieces of the load [W], or the floor area [m2].
    """

    flow: Reading
    share: float
    method: Method
    confidence: Confidence
    parts: Mapping[str, float]

    @property
    def for_checks(self) -> bool:
        """Whether a check may hold the room to it."""
        return self.confidence != "low"


@dataclass(frozen=True, slots=True)
class _Share:
    share: float
    doubt: float
    parts: Mapping[str, float]


def room_targets(record: JobRecord, assumptions: Assumptions) -> Mapping[str, Target]:
    """Return the design airflow of every room that has one, by key.

    Parameters
    ----------
    record : JobRecord
        Rooms with a `target`, or with what their share comes from; then also the tons of the new unit.
    assumptions : Assumptions
        With all of `NEEDED`.

    Returns
    -------
    mapping of str to Target
        Empty where nothing is known. The rooms' design airflows add up to tons times ``load_design_flow`` where none is written.
    """
    written = {r.key: r.numbers["target"] for r in rooms_of(record) if "target" in r.numbers}
    tons = record.new.get("tons")
    design = None if tons is None else si(tons) * assumptions["load_design_flow"]
    shares: Mapping[str, _Share] = {}
    method: Method = "written"
    if design is not None and len(written) < len(rooms_of(record)):
        method, shares = _shares(record, assumptions)
    whole = design if shares and design is not None else fsum(si(r) for r in written.values())
    found = {}
    for room in rooms_of(record):
        if room.key in written:
            flow = written[room.key]
            share = si(flow) / whole if whole > 0.0 else 0.0
            found[room.key] = Target(flow, share, "written", "high", MappingProxyType({}))
        elif room.key in shares and design is not None:
            found[room.key] = _target(room, shares[room.key], design, method)
    return MappingProxyType(found)


def _shares(record: JobRecord, a: Assumptions) -> tuple[Method, Mapping[str, _Share]]:
    """Shares by the best evidence that there is for the house."""
    rooms = rooms_of(record)
    stated = _stated_shares(record, rooms, a["load_loads_doubt"])
    if stated:
        return "loads", stated
    loads = room_loads(record, a)
    if loads is not None:
        doubts = doubts_of_shares(loads, a["load_part_doubt"], a["load_room_doubt"])
        whole = fsum(watts for parts in loads.values() for watts in parts.values())
        return "construction", {
            key: _Share(fsum(parts.values()) / whole, doubts[key], parts) for key, parts in loads.items()
        }
    if all("area" in room.numbers for room in rooms):
        return "area", _of_whole(rooms, "area", None, a["load_area_doubt"])
    return "area", {}


def _stated_shares(record: JobRecord, rooms: tuple[Item, ...], doubt: float) -> Mapping[str, _Share]:
    """By the record's loads: of their sum if every room has one, else of the house's load if that is no less than their sum."""
    known = tuple(room for room in rooms if "load" in room.numbers)
    if len(known) == len(rooms):
        return _of_whole(known, "load", None, doubt)
    house = record.items[HOUSE_KEY].numbers.get("sensible_load")
    if not known or house is None or si(house) < fsum(si(r.numbers["load"]) for r in known):
        return {}
    return _of_whole(known, "load", si(house), doubt)


def _of_whole(rooms: tuple[Item, ...], name: str, whole: float | None, doubt: float) -> Mapping[str, _Share]:
    """Share of each room in a number of the record; none where the whole is nothing."""
    values = {room.key: si(room.numbers[name]) for room in rooms}
    whole = fsum(values.values()) if whole is None else whole
    if whole <= 0.0:
        return {}
    return {key: _Share(value / whole, doubt, MappingProxyType({name: value})) for key, value in values.items()}


def _target(room: Item, share: _Share, design: float, method: Method) -> Target:
    state: State = "stated" if method == "loads" else "assumed"
    confidence: Confidence = "high" if method == "loads" else "medium" if method == "construction" else "low"
    value = share.share * design / UNITS[_FIELD.unit].factor
    path = f"derived.{room.key}.target"
    flow = Reading(value, _FIELD.unit, state, value * share.doubt, path, None, None, "", MappingProxyType({}))
    return Target(flow, share.share, method, confidence, share.parts)
