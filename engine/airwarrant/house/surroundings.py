"""The air around the house and its ducts: as it was during the newest readings, and as it is over a season."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from airwarrant.air.heating import density_at
from airwarrant.air.moist import humidity_ratio, pressure_at_altitude
from airwarrant.air.wet_bulb import humidity_of_wet_bulb
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import reading
from airwarrant.job.record import JobRecord

#: The rooms themselves: a duct there loses nothing that does not come back, by definition.
ROOMS = "inside"
SPACES = ("attic", "basement", "closet", "crawl", "garage", "roof")
#: Spaces whose air the record's `attic_temp` is.
_READ = ("attic", "crawl")

NEEDED: Mapping[str, str] = MappingProxyType(
    {
        "season_indoor_temp": "F",
        "season_indoor_humidity": "1",
        "season_outdoor_temp": "F",
        "season_outdoor_humidity": "1",
        **{f"season_follows_{space}": "%" for space in SPACES},
        **{f"season_rise_{space}": "F diff" for space in SPACES},
        **{f"season_regain_{space}": "%" for space in SPACES},
    }
)


@dataclass(frozen=True, slots=True)
class Places:
    """Where the ducts lie; words of the record's `return_path_space`."""

    supply: str
    back: str


@dataclass(frozen=True, slots=True)
class Surroundings:
    """Air in and around the house [K, kg/kg dry air]."""

    indoor: float
    indoor_humidity: float
    outdoor: float
    outdoor_humidity: float
    supply_zone: float
    return_zone: float
    return_zone_humidity: float


def air_density(record: JobRecord, assumed: list[str]) -> float:
    """Density of the house's air by its altitude [kg/m3]; sea level where the record gives none."""
    altitude = _number(record, "altitude")
    if altitude is None:
        assumed.append("the house stands at sea level: the record gives no altitude")
    return density_at(altitude or 0.0)


def duct_places(record: JobRecord, assumed: list[str]) -> Places | None:
    """Where both sides of the ducts lie, or None if the record does not say it of the return.

    The supply side is where the record's `supply_path_space` says, else where its supply leaks are if they agree, else
    with the return.
    """
    house = record.items[HOUSE_KEY].words
    back = house.get("return_path_space")
    if back is None:
        return None
    supply = house.get("supply_path_space") or _space_of_leaks(record)
    if supply is None:
        assumed.append(f"supply ducts lie where the return does ({back}): the record does not say")
    return Places(supply or back, back)


def regain(place: str, assumptions: Assumptions) -> float:
    """Share of what is lost into a place that comes back to the rooms."""
    return 1.0 if place == ROOMS else assumptions[f"season_regain_{place}"]


def in_season(places: Places, assumptions: Assumptions) -> Surroundings:
    """The air over a cooling season, from policy alone."""
    indoor, outdoor = assumptions["season_indoor_temp"], assumptions["season_outdoor_temp"]
    humidity, outside = assumptions["season_indoor_humidity"], assumptions["season_outdoor_humidity"]
    return Surroundings(
        indoor,
        humidity,
        outdoor,
        outside,
        _zone(places.supply, indoor, outdoor, assumptions),
        _zone(places.back, indoor, outdoor, assumptions),
        humidity + _follows(places.back, assumptions) * (outside - humidity),
    )


def at_readings(record: JobRecord, places: Places, assumptions: Assumptions, assumed: list[str]) -> Surroundings:
    """The air during the newest readings on the old unit; what was not read is the season's of policy."""
    season = in_season(places, assumptions)
    indoor, outdoor = _read(record, "grille_temp"), _read(record, "outdoor_temp")
    humidity = _indoor_humidity(record, indoor)
    space = _read(record, "attic_temp")
    inner, outer = season.indoor if indoor is None else indoor, season.outdoor if outdoor is None else outdoor
    inside = season.indoor_humidity if humidity is None else humidity
    for value, what in (
        (indoor, "indoor temperature"),
        (humidity, "indoor humidity"),
        (outdoor, "outdoor temperature"),
    ):
        if value is None:
            assumed.append(f"{what} during the readings is the season's: it was not read")
    zones = []
    for place in (places.supply, places.back):
        if place in _READ and space is not None:
            zones.append(space)
        else:
            zones.append(_zone(place, inner, outer, assumptions))
            if place != ROOMS:
                text = f"{place} temperature during the readings follows from the outdoor one: it was not read"
                assumed += [] if text in assumed else [text]
    follows = _follows(places.back, assumptions)
    return Surroundings(
        inner,
        inside,
        outer,
        season.outdoor_humidity,
        zones[0],
        zones[1],
        inside + follows * (season.outdoor_humidity - inside),
    )


def _zone(place: str, indoor: float, outdoor: float, assumptions: Assumptions) -> float:
    if place == ROOMS:
        return indoor
    return indoor + _follows(place, assumptions) * (outdoor - indoor) + assumptions[f"season_rise_{place}"]


def _follows(place: str, assumptions: Assumptions) -> float:
    """How far a place's air goes from the rooms' to the outdoors', in temperature and in humidity."""
    return 0.0 if place == ROOMS else assumptions[f"season_follows_{place}"]


def _indoor_humidity(record: JobRecord, indoor: float | None) -> float | None:
    """Humidity ratio from the grille's two bulbs; None where they were not both read or cannot be true together."""
    wet = _read(record, "grille_wet_bulb")
    if wet is None or indoor is None or not 273.15 < wet <= indoor:
        return None
    pressure = pressure_at_altitude(_number(record, "altitude") or 0.0)
    humidity = humidity_of_wet_bulb(indoor, wet, pressure)
    return humidity if 0.0 <= humidity <= humidity_ratio(indoor, 1.0, pressure) else None


def _space_of_leaks(record: JobRecord) -> str | None:
    spaces = {
        item.words.get("space", "")
        for item in record.items.values()
        if item.kind == "leak" and item.words.get("side") == "supply"
    }
    only = spaces.pop() if len(spaces) == 1 else ""
    return {"outdoors": "roof"}.get(only, only) or None


def _number(record: JobRecord, name: str) -> float | None:
    found = record.items[HOUSE_KEY].numbers.get(name)
    return None if found is None else si(found)


def _read(record: JobRecord, name: str) -> float | None:
    found = reading(record, HOUSE_KEY, name, "found")
    return None if found is None else si(found)
