"""Sensible cooling load of every room from its walls, windows and ceiling: the open route, where nobody calculated loads."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import fsum, pi, radians
from types import MappingProxyType

from airwarrant.air import solar
from airwarrant.air.moist import pressure_at_altitude
from airwarrant.air.room_load import air_heat, conduction, infiltration
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.record import Item, JobRecord

#: Policy parameter -> unit it must convert to.
NEEDED: Mapping[str, str] = MappingProxyType(
    {
        "load_outdoor": "C",
        "load_indoor": "C",
        "load_latitude": "deg",
        "load_day": "d",
        "load_hour_first": "h",
        "load_hour_last": "h",
        "load_aerosol_380": "1",
        "load_aerosol_500": "1",
        "load_sky_water": "mm",
        "load_ground": "%",
        "load_wall_rise": "K",
        "load_attic_rise": "K",
        "load_roof_rise": "K",
        "load_newer_from": "year",
        "load_wall_u_older": "W/m2/K",
        "load_wall_u_newer": "W/m2/K",
        "load_ceiling_u_older": "W/m2/K",
        "load_ceiling_u_newer": "W/m2/K",
        "load_glass_u_older": "W/m2/K",
        "load_glass_u_newer": "W/m2/K",
        "load_glass_sun_older": "%",
        "load_glass_sun_newer": "%",
        "load_glass_shade": "%",
        "load_glass_angle": "1",
        "load_leak_older": "1",
        "load_leak_newer": "1",
        "load_leak_ends": "%",
        "load_shelter": "1",
        "load_wind": "fpm",
        "load_ceiling_height": "m",
        "load_person": "W",
        "load_people_day_room": "1",
        "load_people_bedroom": "1",
        "load_people_other": "1",
        "load_gain_kitchen": "W",
        "load_gain_day_room": "W",
        "load_gain_bedroom": "W",
        "load_gain_other": "W",
    }
)

#: What a room must have written for the open route; its glass may be 0.
GEOMETRY = ("area", "wall_area", "glass_area")
#: Parts of a load, as `room_loads` names them.
PARTS = ("walls", "glass", "sun", "ceiling", "infiltration", "people", "appliances")

_FACES = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
_DAY_ROOMS = ("living", "dining", "kitchen")


@dataclass(frozen=True, slots=True)
class _Envelope:
    """Values of the house's vintage, and what the whole house shares; SI."""

    wall: float
    ceiling: float
    glass: float
    sun: float
    leak: float
    altitude: float
    height: float
    floor: float
    exposed: float


def rooms_of(record: JobRecord) -> tuple[Item, ...]:
    """Rooms of a record, in order of keys."""
    return tuple(item for _, item in sorted(record.items.items()) if item.kind == "room")


def missing_geometry(record: JobRecord) -> tuple[str, ...]:
    """What the open route still needs, as ``room.field``; empty if it can run, or if there are no rooms."""
    found = []
    for room in rooms_of(record):
        found += [f"{room.key}.{name}" for name in GEOMETRY if name not in room.numbers]
        if "ceiling_below" not in room.words:
            found.append(f"{room.key}.ceiling_below")
        if "glass_area" in room.numbers and room.numbers["glass_area"].value > 0 and "glass_faces" not in room.words:
            found.append(f"{room.key}.glass_faces")
    return tuple(found)


def room_loads(record: JobRecord, assumptions: Assumptions) -> Mapping[str, Mapping[str, float]] | None:
    """Sensible load of every room by its parts [W], or None where something is missing or a room has none.

    Conduction is U·A·ΔT with the air outside a wall or over a ceiling warmer than outdoors by policy; sun is a clear day's, through
    glass on the side the record names, mean over the policy's hours; leaks are the house's, shared out by walls and windows; people
    and appliances go by the use of the room. Floors, inside walls, doors, single trees and the house's own shadow are left out.

    Parameters
    ----------
    record : JobRecord
        Every room with its floor, wall and glass area, what is above its ceiling and which way its glass faces; the year built
        decides which values hold, floor area, ceiling height and altitude are used where written.
    assumptions : Assumptions
        With all of `NEEDED`.

    Returns
    -------
    mapping of room key to (mapping of `PARTS` to W), or None
    """
    rooms = rooms_of(record)
    if not rooms or missing_geometry(record):
        return None
    envelope = _envelope(record, rooms, assumptions)
    sun = {face: _sun(face, envelope.altitude, assumptions) for face in {_face(r) for r in rooms} if face}
    leaked = _leaked_heat(envelope, assumptions)
    loads = {}
    for room in rooms:
        parts = _parts(room, envelope, sun.get(_face(room), 0.0), leaked, assumptions)
        if fsum(parts.values()) <= 0.0:
            return None
        loads[room.key] = MappingProxyType(parts)
    return MappingProxyType(loads)


def _number(item: Item, name: str) -> float | None:
    found = item.numbers.get(name)
    return None if found is None else si(found)


def _written(item: Item, name: str) -> float:
    return si(item.numbers[name])


def _face(room: Item) -> str:
    return room.words["glass_faces"] if _written(room, "glass_area") > 0.0 else ""


def _envelope(record: JobRecord, rooms: tuple[Item, ...], a: Assumptions) -> _Envelope:
    house = record.items[HOUSE_KEY]
    built = _number(house, "year_built")
    age = "newer" if built is not None and built >= a["load_newer_from"] else "older"
    height, floor = _number(house, "ceiling_height"), _number(house, "floor_area")
    return _Envelope(
        wall=a[f"load_wall_u_{age}"],
        ceiling=a[f"load_ceiling_u_{age}"],
        glass=a[f"load_glass_u_{age}"],
        sun=a[f"load_glass_sun_{age}"],
        leak=a[f"load_leak_{age}"],
        altitude=_number(house, "altitude") or 0.0,
        height=a["load_ceiling_height"] if height is None else height,
        floor=fsum(_written(r, "area") for r in rooms) if floor is None else floor,
        exposed=fsum(_exposed(r) for r in rooms),
    )


def _exposed(room: Item) -> float:
    return _written(room, "wall_area") + _written(room, "glass_area")


def _sun(face: str, altitude: float, a: Assumptions) -> float:
    """Mean over the hours of the sun that glass of heat gain coefficient 1 lets in [W/m2]."""
    azimuth = radians(45.0 * _FACES.index(face))
    haze = solar.Haze(a["load_aerosol_380"], a["load_aerosol_500"], a["load_sky_water"])
    pressure, ground, day = pressure_at_altitude(altitude), a["load_ground"], a["load_day"] / 86400.0
    outside = solar.beam_outside(day)
    found = []
    for hour in _hours(a):
        sun = solar.sun_vector(a["load_latitude"], day, (hour - 12.0) * pi / 12.0)
        sky = solar.clear_sky(sun[2], outside, haze, pressure, ground)
        facing = solar.incidence(sun, azimuth)
        found.append(solar.through_glass(solar.on_upright(sky, facing, ground), facing, a["load_glass_angle"]))
    return fsum(found) / len(found)


def _hours(a: Assumptions) -> tuple[float, ...]:
    first, last = a["load_hour_first"] / 3600.0, a["load_hour_last"] / 3600.0
    return tuple(first + i for i in range(max(int(last - first), 0) + 1))


def _leaked_heat(envelope: _Envelope, a: Assumptions) -> float:
    """Sensible heat of the house's leaks per area of wall and glass [W/m2]."""
    if envelope.exposed <= 0.0:
        return 0.0
    warmer = a["load_outdoor"] - a["load_indoor"]
    flow = infiltration(
        envelope.leak * envelope.floor,
        envelope.height,
        warmer,
        a["load_wind"],
        a["load_indoor"],
        a["load_leak_ends"],
        a["load_shelter"],
    )
    return air_heat(envelope.altitude) * flow * warmer / envelope.exposed


def _parts(room: Item, envelope: _Envelope, sun: float, leaked: float, a: Assumptions) -> dict[str, float]:
    warmer = a["load_outdoor"] - a["load_indoor"]
    glass = _written(room, "glass_area")
    above = {"attic": warmer + a["load_attic_rise"], "roof": warmer + a["load_roof_rise"], "inside": 0.0}
    use = room.words.get("use", "other")
    people = _number(room, "people")
    if people is None:
        people = a[f"load_people_{_people_group(use)}"]
    return {
        "walls": conduction(envelope.wall, _written(room, "wall_area"), warmer + a["load_wall_rise"]),
        "glass": conduction(envelope.glass, glass, warmer),
        "sun": glass * sun * envelope.sun * a["load_glass_shade"],
        "ceiling": conduction(envelope.ceiling, _written(room, "area"), above[room.words["ceiling_below"]]),
        "infiltration": leaked * _exposed(room),
        "people": people * a["load_person"],
        "appliances": a[f"load_gain_{_gain_group(use)}"],
    }


def _people_group(use: str) -> str:
    return "day_room" if use in _DAY_ROOMS else "bedroom" if use == "bedroom" else "other"


def _gain_group(use: str) -> str:
    return "kitchen" if use == "kitchen" else _people_group(use)
