"""Rooms of a drawn house: their shares of floor, heat and air, and their doors."""

from dataclasses import dataclass
from math import sqrt

from airwarrant.air.openings import DISCHARGE, opening_area
from airwarrant.made_jobs import figures
from airwarrant.made_jobs.causes import Planted
from airwarrant.made_jobs.drawn import FAHRENHEIT, FT2, IN2, INCH, OPEN_ROOMS, Door, Room
from airwarrant.made_jobs.stream import Stream

_EIGHTH = INCH / 8.0
_ROOM_CAUSES = ("starved-room", "shut-damper", "closed-door")


@dataclass(frozen=True, slots=True)
class Served:
    """What the rooms of one house have in common: area [m2], heat [W], supply airflow [m3/s] and the drop over a branch [Pa]."""

    area: float
    load: float
    flow: float
    drop: float


def draw_rooms(stream: Stream, climate: str, planted: Planted, served: Served) -> tuple[Room, ...]:
    """Draw the rooms; each room cause that was planted falls on a bedroom of its own, of which every house has enough."""
    square_feet = served.area / FT2
    uses = [one for one in figures.blocks("rooms/uses") if one.get("from_area", 0) <= square_feet]
    whole = sum(one["weight"] for one in uses)
    floor = served.area * stream.between(figures.pair("house/rooms_share"))
    areas = [floor * one["weight"] / whole for one in uses]
    heat = [area * stream.between(figures.pair("rooms/load_apart")) for area in areas]
    faults = _where(stream, planted, [one["id"] for one in uses if one["use"] == "bedroom"])
    most, apart = figures.number("rooms/apart_most"), figures.number("rooms/apart")
    rooms = []
    for one, area, warmth in zip(uses, areas, heat, strict=True):
        share = warmth / sum(heat)
        flow = served.flow * share
        unequal = 1.0 + max(-most, min(most, stream.normal(apart)))
        tight = faults.get(one["id"]) == "closed-door"
        door = None if one["use"] in OPEN_ROOMS else _door(stream, climate, flow, served.drop, tight)
        room = Room(
            one["id"], one["use"], area, served.load * share, served.drop / (flow * unequal) ** 2, door,
            offset=stream.between(figures.pair("rooms/thermostat_off")) * FAHRENHEIT,
        )  # fmt: skip
        rooms.append(_spoiled(stream, room, faults.get(one["id"], "")))
    return tuple(rooms)


def _where(stream: Stream, planted: Planted, bedrooms: list[str]) -> dict[str, str]:
    """Which bedroom each room cause falls on."""
    left, found = list(bedrooms), {}
    for cause in _ROOM_CAUSES:
        if cause in planted:
            room = stream.one_of(left)
            left.remove(room)
            found[room] = cause
    return found


def _door(stream: Stream, climate: str, flow: float, drop: float, tight: bool) -> Door:
    """A door whose free area gives about a drawn pressure: by its gap as far as a gap goes, the rest by a transfer path.

    `flow` is the room's with the door open, `drop` that over its branch then: shut, the door takes its pressure from the branch.
    """
    pressure = stream.between(figures.pair(f"climate/{climate}/door_{'planted' if tight else 'usual'}"))
    width = float(stream.chosen(figures.weights("rooms/door_width"))) * INCH
    cracks = stream.between(figures.pair("rooms/cracks")) * IN2
    gap = stream.between(figures.pair("rooms/undercut")) * INCH
    shut = flow * sqrt(max(1.0 - pressure / drop, figures.number("rooms/least_share")))
    area = opening_area(pressure / shut**2, DISCHARGE)
    least = figures.number("rooms/undercut_least") * INCH
    undercut = max(min(gap, (area - cracks) / width), least)
    undercut = max(round(undercut / _EIGHTH), 1) * _EIGHTH
    transfer = max(round((area - cracks - width * undercut) / IN2), 0) * IN2
    # Nobody builds a path of a few square inches: it is made the least there is, but for a door that is to be tight.
    least_path = figures.number("rooms/transfer_least") * IN2
    if transfer and not tight:
        transfer = max(transfer, least_path)
    return Door(width, undercut, cracks, transfer)


def _spoiled(stream: Stream, room: Room, cause: str) -> Room:
    """The room with its planted cause."""
    if not cause:
        return room
    path = f"cause/{cause}"
    k, condition, offset = room.k, "", room.offset
    if cause != "closed-door":
        k = room.k / stream.between(figures.pair(f"{path}/keeps")) ** 2
        offset = stream.between(figures.pair(f"{path}/offset")) * FAHRENHEIT
    if cause == "starved-room":
        condition = stream.chosen(figures.weights(f"{path}/condition"))
    return Room(room.key, room.use, room.area, room.load, k, room.door, cause, condition, offset)
