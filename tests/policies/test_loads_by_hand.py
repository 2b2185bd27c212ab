"""Loads of rooms under the market of each climate, by hand, part by part, and the air they then get.

Conduction is U x area x difference, leaks are the published formula of stack and wind with its published constants (see
`test_room_loads`), the sun is an independent library's clear sky. Design days, U-values and gains are common practice and stand
here as an estimator would write them into the sum; nothing published holds the demo markets themselves.
"""

import math
from collections.abc import Mapping
from datetime import date
from typing import Any

import pvlib
import pytest
import tomli_w

from airwarrant.assumed import assumptions_of
from airwarrant.house.assumptions import Assumptions
from airwarrant.house.room_loads import room_loads
from airwarrant.house.room_targets import room_targets
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from airwarrant.policy.compose import compose
from jobs import POLICIES

WATT = 1055.05585262 / 3600
#: market: outdoors °F, latitude, haze at 380 and 500 nm, water in the sky in cm, cfm a ton
DAYS = {
    "copper-basin": (107, 33, 0.22, 0.15, 3.0, 350),
    "mosswater-bend": (93, 30, 0.35, 0.25, 5.0, 350),
    "clay-hollow": (91, 37, 0.35, 0.25, 4.0, 375),
    "larchmere-notch": (88, 45, 0.22, 0.15, 3.0, 375),
    "fog-harbor": (83, 45, 0.22, 0.15, 2.0, 400),
}
#: year built: U of wall, ceiling and glass, sun through the glass, leak area of the floor's
AGES = {1979: (0.2, 0.08, 1.2, 0.80, 0.00059), 1981: (0.082, 0.035, 0.65, 0.55, 0.00036)}
ROOMS: list[dict[str, Any]] = [
    {"id": "bed", "use": "bedroom", "area": 150, "wall_area": 100, "glass_area": 20, "glass_faces": "south", "ceiling_below": "roof"},
    {"id": "hall", "use": "hall", "area": 100, "wall_area": 20, "glass_area": 0, "ceiling_below": "inside"},
    {"id": "kitchen", "use": "kitchen", "area": 150, "wall_area": 80, "glass_area": 10, "glass_faces": "east", "ceiling_below": "attic"},
    {"id": "living", "use": "living", "area": 300, "wall_area": 200, "glass_area": 40, "glass_faces": "west", "ceiling_below": "attic"},
]  # fmt: skip
AZIMUTH = {"south": 180, "east": 90, "west": 270}


def _record(rooms: list[dict[str, Any]], year: int) -> JobRecord:
    job = {
        "format": "airwarrant/job/1", "id": "loads", "market": "copper-basin", "units": "ip", "demo": True,
        "dates": {"survey": date(2026, 7, 14)}, "house": {"year_built": year, "altitude": 0, "floor_area": 700},
        "new": {"form": "package-roof", "tons": 3}, "room": rooms,
    }  # fmt: skip
    return parse_job(tomli_w.dumps(job).encode(), "loads.toml")


@pytest.fixture(scope="module", params=DAYS)
def day(request: pytest.FixtureRequest) -> tuple[Assumptions, tuple[float, ...]]:
    return assumptions_of(compose(POLICIES, request.param, {"survey": date(2026, 7, 14)})), DAYS[request.param]


def _sun(latitude: float, haze_380: float, haze_500: float, water: float, azimuth: float) -> float:
    """Sun through glass of heat gain coefficient 1, mean of 9 in the morning to 6 in the evening of 21 July [Btu/(h ft2)]."""
    return sum(_hour(latitude, haze_380, haze_500, water, azimuth, hour) for hour in range(9, 19)) / 10


def _hour(latitude: float, haze_380: float, haze_500: float, water: float, azimuth: float, hour: int) -> float:
    position, turned = pvlib.solarposition, math.radians(15 * (hour - 12))
    declination = position.declination_spencer71(202)
    zenith = math.degrees(position.solar_zenith_analytical(math.radians(latitude), turned, declination))
    # At noon the library has no direction to give: the sun stands in the south.
    bearing = 180.0 if hour == 12 else math.degrees(
        position.solar_azimuth_analytical(math.radians(latitude), turned, declination, math.radians(zenith))
    )  # fmt: skip
    mass = pvlib.atmosphere.get_relative_airmass(zenith, model="kasten1966")
    outside = pvlib.irradiance.get_extra_radiation(202, solar_constant=1367.0, method="spencer")
    sky = pvlib.clearsky.bird(zenith, mass, haze_380, haze_500, water, 0.3, 101325.0, outside, 0.84, 0.2)
    angle = float(pvlib.irradiance.aoi(90, azimuth, zenith, bearing))
    ground = pvlib.irradiance.get_ground_diffuse(90, sky["ghi"], albedo=0.2)
    around = pvlib.irradiance.isotropic(90, sky["dhi"]) + ground
    beam = sky["dni"] * max(math.cos(math.radians(angle)), 0.0)
    through = beam * pvlib.iam.ashrae(angle, 0.1) if beam > 0.0 else 0.0
    return float((through + around * pvlib.iam.ashrae(60.0, 0.1)) / 3.154591)


def _by_hand(year: int, outdoors: float, latitude: float, *sky: float) -> Mapping[str, Mapping[str, float]]:
    """Loads in Btu/h, indoors 75 °F: walls 15 °F warmer than the air outdoors, an attic and a roof 40 °F."""
    wall, ceiling, glass, through, leak = AGES[year]
    warmer = outdoors - 75
    # Height 8 ft, shelter 0.24, half of the leaks at the ends, 5 mph, in feet and seconds; indoors 534.67 °R.
    stack, wind = 1.25 / 3 * math.sqrt(32.174 * 8 / 534.67 * warmer), 0.24 * 0.5 ** (1 / 3) * 440 / 60
    leaked = 1.08 * leak * 700 * math.hypot(stack, wind) * 60 * warmer / (400 + 70)
    above = {"attic": warmer + 40, "roof": warmer + 40, "inside": 0}
    people = {"bedroom": 0.5, "hall": 0, "kitchen": 1, "living": 1}
    gains = {"bedroom": 200, "hall": 200, "kitchen": 1200, "living": 500}
    return {
        room["id"]: {
            "walls": wall * room["wall_area"] * (warmer + 15),
            "glass": glass * room["glass_area"] * warmer,
            "sun": room["glass_area"]
            and room["glass_area"] * through * 0.7 * _sun(latitude, *sky, AZIMUTH[room["glass_faces"]]),
            "ceiling": ceiling * room["area"] * above[room["ceiling_below"]],
            "infiltration": leaked * (room["wall_area"] + room["glass_area"]),
            "people": people[room["use"]] * 230,
            "appliances": gains[room["use"]],
        }
        for room in ROOMS
    }


@pytest.mark.parametrize("year", AGES)
def test_loads_of_rooms_part_by_part(day: tuple[Assumptions, tuple[float, ...]], year: int) -> None:
    assumed, (outdoors, latitude, *sky, _) = day
    loads = room_loads(_record(ROOMS, year), assumed)
    assert loads is not None
    for key, parts in _by_hand(year, outdoors, latitude, *sky).items():
        found = {name: watts / WATT for name, watts in loads[key].items()}
        # The library rounds constants of its sky.
        assert found["sun"] == pytest.approx(parts["sun"], rel=5e-4), key
        assert found == pytest.approx({**parts, "sun": found["sun"]}, rel=2e-4), key


def test_the_air_of_a_three_ton_unit_is_the_markets_a_ton(day: tuple[Assumptions, tuple[float, ...]]) -> None:
    assumed, (*_, per_ton) = day
    targets = room_targets(_record(ROOMS, 1981), assumed)
    assert sum(target.flow.value for target in targets.values()) == pytest.approx(3 * per_ton)


def test_doubts_of_two_rooms_alike(day: tuple[Assumptions, tuple[float, ...]]) -> None:
    """By loads somebody calculated, by area alone; by walls a doubt of each of two halves by itself stays as the root of a half."""
    assumed, _ = day
    twin = {
        "use": "bedroom",
        "wall_area": 100,
        "glass_area": 20,
        "glass_faces": "south",
        "ceiling_below": "attic",
        "area": 150,
    }
    loads, area = {"use": "bedroom", "load": 3000}, {"use": "bedroom", "area": 150}
    for known, share in ((loads, 0.10), (area, 0.35), (twin, 0.15 * math.sqrt(0.5))):
        target = room_targets(_record([{"id": "a", **known}, {"id": "b", **known}], 1981), assumed)["a"].flow
        assert target.plus_minus is not None
        assert target.plus_minus / target.value == pytest.approx(share)


def test_a_room_of_glass_doubts_its_share_by_what_only_it_has(day: tuple[Assumptions, tuple[float, ...]]) -> None:
    """Of two rooms, one with all the sun and nothing else: 30 % of its part against the other's, and 15 % of each room."""
    assumed, _ = day
    rooms = [one for one in ROOMS if one["id"] in ("living", "hall")]
    loads = room_loads(_record(rooms, 1981), assumed)
    assert loads is not None
    sums = {key: sum(parts.values()) for key, parts in loads.items()}
    share = sums["living"] / sum(sums.values())
    # By hand: d(share)/d(part) is part x (1 - share or -share) over the whole; parts and rooms are independent.
    whole = sum(sums.values())
    by_part = sum(
        (0.30 * (loads["living"][name] * (1 - share) - loads["hall"][name] * share) / whole) ** 2
        for name in loads["living"]
    )
    by_room = (0.15 * share * (1 - share)) ** 2 * 2
    target = room_targets(_record(rooms, 1981), assumed)["living"].flow
    assert target.plus_minus is not None
    assert target.plus_minus / target.value == pytest.approx(math.sqrt(by_part + by_room) / share, rel=1e-6)
