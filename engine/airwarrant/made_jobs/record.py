"""The record of a made job: what a survey of a drawn house would have written down."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any

from airwarrant.job.digest import FORMAT
from airwarrant.made_jobs import figures
from airwarrant.made_jobs.drawn import BTUH, FOOT, FT2, IN2, INCH, House, Room
from airwarrant.made_jobs.equipment import new_unit, old_unit
from airwarrant.made_jobs.stream import Stream

Data = dict[str, Any]

_NO = ("asbestos_suspect", "paint_cut", "mould_like", "pests", "live_wiring", "structure_cut", "heat_risk")
_COMPLAINTS: Mapping[str, str] = {"starved-room": "hot", "shut-damper": "hot", "closed-door": "stuffy"}


def record_data(stream: Stream, house: House, id: str, note: str) -> Data:
    """Return the record of a house without its visits, as data."""
    planted = house.planted
    hazard = stream.chosen(figures.weights("cause/unknown-hazard/hazard")) if "unknown-hazard" in planted else ""
    return {
        "format": FORMAT,
        "id": id,
        "market": house.market,
        "units": "ip",
        "demo": True,
        "note": note,
        "dates": {"survey": house.day, "proposal": _later(stream, house, "stale-readings")},
        "house": _house(stream, house, hazard),
        "old": old_unit(stream, house),
        "new": new_unit(stream, house),
        **_air_path(stream, house),
        "zone": [_zone(house)],
        **({"appliance": list(_appliances(house))} if house.zone.appliances else {}),
        "room": [_room(room) for room in house.rooms],
        "instrument": [
            {
                "id": "manometer-1",
                "kind": "manometer",
                "checked": _checked(stream, house),
            }
        ],
    }


def _later(stream: Stream, house: House, cause: str) -> date:
    """The day of the survey, or so many days later as a planted cause says."""
    days = stream.between(figures.pair(f"cause/{cause}/days"))
    return house.day + timedelta(days=round(days)) if cause in house.planted else house.day


def _checked(stream: Stream, house: House) -> date:
    cause = "cause/old-instruments/days" if "old-instruments" in house.planted else "instrument/checked_days"
    return house.day - timedelta(days=round(stream.between(figures.pair(cause))))


def _house(stream: Stream, house: House, hazard: str) -> Data:
    r = float(stream.chosen(figures.weights(f"climate/{house.climate}/duct_r")))
    load = sum(_load(room) for room in house.rooms)
    gas = any(one != "" for one in house.zone.appliances)
    data: Data = {
        "told": _told(house),
        "floor_area": round(house.floor_area / FT2),
        "year_built": house.year_built,
        "altitude": round(house.altitude / FOOT),
        "ceiling_height": round(house.ceiling / FOOT, 1),
        "return_path_space": house.return_space,
        "supply_path_space": house.supply_space,
        "supply_duct_area": round(house.floor_area / FT2 * stream.between(figures.pair("house/supply_duct_share"))),
        "supply_duct_r": r,
        "return_duct_area": round(house.floor_area / FT2 * stream.between(figures.pair("house/return_duct_share"))),
        "return_duct_r": r,
        "sensible_load": load,
        "electric_rate": round(stream.between(figures.pair("house/electric_rate")), 2),
        **{name: "no" for name in _NO if name != hazard},
        **({hazard: "unknown"} if hazard else {}),
        "sold_at_home": "yes",
        "gas_service": "yes" if gas else "no",
        "attached_garage": "no",
    }
    if house.zone.open_draft or gas:
        data["co_alarm"] = "yes"
    if "attic" in (house.return_space, house.supply_space):
        data["attic_floor"] = "yes"
    if "crawl" in (house.return_space, house.supply_space):
        data["crawl_water"] = "no"
    if house.form == "package-roof":
        data |= {"roof_edge": "no", "roof_height": round(stream.between(figures.pair("house/roof_height")))}
    return data


def _told(house: House) -> str:
    faults = {room.fault: room.key for room in house.rooms if room.fault}
    for fault, text in (("starved-room", "gets little air and is hot"), ("shut-damper", "gets little air and is hot")):
        if fault in faults:
            return f"{faults[fault]} {text} in the afternoon."
    if "closed-door" in faults:
        return f"{faults['closed-door']} is stuffy with its door shut."
    return (
        "The unit is old; nothing else was said." if house.planted.healthy else "The air is weak and the unit is loud."
    )


def _air_path(stream: Stream, house: House) -> Data:
    data: Data = {}
    if house.form == "package-roof":
        narrow = "narrow-elbow" in house.planted
        opening = round(house.tons * figures.number("house/opening_per_ton"))
        data["elbow"] = [
            {
                "id": "roof-elbow",
                "style": "narrow-two-plane" if narrow else "wide-side-by-side",
                "roof_access": "no" if "no-roof-access" in house.planted else "yes",
                "return_opening": opening,
                "supply_opening": round(opening * figures.number("house/supply_of_return_opening")),
                "weathertight": "yes",
            }
        ]
    sides = ("supply",) if house.duct is None else ("supply", "return")
    data["plenum"] = [
        {
            "id": f"{side}-plenum",
            "side": side,
            "fits": "no" if side == "supply" and "bad-plenum" in house.planted else "yes",
            **{name: "yes" for name in ("sound", "dry", "clean")},
            "end_cap_takeoffs": "no",
        }
        for side in sides
    ]
    if house.form == "split-closet":
        data["platform"] = [_platform(house)]
    data["grille"] = [{"id": "hall-grille", "gross": round(house.grille_area / IN2), "filter_at": "grille"}]
    data["return"] = [_return(stream, house)]
    data["route"] = [
        {
            "id": "living-route",
            "lands": "unit-plenum",
            "possible": "yes",
            "draws_from": "rooms",
            "diameter": int(figures.number(f"return/diameter/{house.tons:g}")),
            "length": round(stream.between(figures.pair("return/length"))),
        }
    ]
    runs = list(_runs(house))
    if runs:
        data["run"] = runs
    data["leak"] = [
        {
            "id": leak.id,
            "side": leak.side,
            "at": leak.at,
            "space": leak.space,
            **({"zone": leak.zone} if leak.zone else {}),
            "reach": "yes",
            "state": "sound",
        }
        for leak in house.leaks
    ]
    return data


def _platform(house: House) -> Data:
    if "platform-leak" not in house.planted:
        return {"id": "closet-return", "lining": "ducted", "openings": "no", "moisture": "no"}
    return {
        "id": "closet-platform",
        "make_up": round(house.zone.make_up / IN2),
        "lining": "bare",
        "openings": "yes",
        "touches": "closet",
        "moisture": "no",
        "zone": "closet",
    }


def _return(stream: Stream, house: House) -> Data:
    by_flame = "return-by-flame" in house.planted
    data: Data = {"id": "hall-return"}
    if house.duct is None:
        data["diameter"] = int(figures.number(f"return/diameter/{house.tons:g}"))
        data["length"] = int(figures.number("return/platform_length"))
        data["material"] = "lined"
        data |= {"wet": "no", "lands": "platform"}
    else:
        duct = house.duct
        data |= {"diameter": duct.diameter, "diameter_over": "inside", "length": duct.length, "bends": duct.bends}
        data |= {"material": duct.material, "wet": "no", "lands": "unit-plenum"}
    data |= {"draws_from": "rooms", "same_space_as_flame": "yes" if by_flame else "no"}
    if by_flame:
        data["flame_distance"] = round(stream.between(figures.pair("cause/return-by-flame/distance")))
    return data


def _runs(house: House) -> Iterator[Data]:
    for room in house.rooms:
        if room.fault == "starved-room":
            yield {"id": f"{room.key}-run", "condition": room.condition, "damper": "none", "room": room.key}
        if room.fault == "shut-damper":
            yield {"id": f"{room.key}-run", "condition": "good", "damper": "part-shut", "room": room.key}


def _zone(house: House) -> Data:
    zone = house.zone
    drawn = any(leak.zone == zone.key for leak in house.leaks)
    data: Data = {"id": zone.key, "open_draft": "yes" if zone.open_draft else "no"}
    if zone.vents:
        data |= {"vents": zone.vents, "worst_case": "yes", "make_up": "two"}
    return data | {"return_leak_here": "yes" if drawn else "no"}


def _appliances(house: House) -> Iterator[Data]:
    common = {"burns": "gas", "zone": house.zone.key}
    for name in house.zone.appliances:
        if name == "water-heater":
            yield {"id": name, "use": name, "venting": "natural-draft", "stays": "yes", **common}
        elif name == "furnace":
            seen = {"flame_moves": "no", "exchanger_cracked": "no"}
            yield {"id": name, "use": name, "venting": "induced", "stays": "no", **seen, **common}
        else:
            yield {"id": name, "use": name, "venting": "unvented", "stays": "yes", **common}


def _load(room: Room) -> int:
    return 10 * round(room.load / BTUH / 10.0)


def _room(room: Room) -> Data:
    data: Data = {
        "id": room.key,
        "use": room.use,
        "complaint": _COMPLAINTS.get(room.fault, "none"),
        "damper_access": "yes",
        "load": _load(room),
        "area": round(room.area / FT2),
    }
    if room.door is not None:
        data |= {
            "transfer_ok": "yes",
            "wall_ok": "yes",
            "undercut_ok": "yes",
            "door_width": round(room.door.width / INCH),
            "undercut": round(room.door.undercut / INCH, 3),
        }
        if room.door.transfer > 0.0:
            data["transfer_area"] = round(room.door.transfer / IN2)
    return data
