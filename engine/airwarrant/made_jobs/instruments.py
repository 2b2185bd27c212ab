"""Readings of a solved house: each what the instrument would show, with the noise of its own ±, rounded as it is written down.

A port is read once; a drop is the difference of two ports, so that the drops of a side add up to its static as they do on paper.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from airwarrant.air.blower import electric_power
from airwarrant.air.equipment import capacity_modifier
from airwarrant.air.heating import density_at, temperature_rise
from airwarrant.air.leakage import warmed_by_leak
from airwarrant.made_jobs import figures
from airwarrant.made_jobs.air_path import Air
from airwarrant.made_jobs.drawn import CFM, FAHRENHEIT, INCHES, RETURN, SUPPLY, TON, Blower, House
from airwarrant.made_jobs.stream import Stream


@dataclass(frozen=True, slots=True)
class Taken:
    """What a visit wrote down, in the units of a record: in. w.c., cfm, °F, Pa, W.

    Attributes
    ----------
    drops : mapping of piece to float
        Of both sides; ``branches`` is that of plenum and branches together.
    leaks : mapping of leak to int
        At 25 Pa.
    spill, co : int
        Spillage that clears, s, and carbon monoxide in the rooms, ppm.
    table_flow, grid_flow : int
        Airflow by the maker's table, and by a flow grid.
    rise : float or None
        Heating rise of the new unit.
    """

    return_static: float
    supply_static: float
    drops: Mapping[str, float]
    rooms: Mapping[str, int]
    doors: Mapping[str, float]
    offsets: Mapping[str, float]
    grille_flow: int
    power: int
    leaks: Mapping[str, int]
    grille_temp: float
    wet_bulb: float
    unit_temp: float
    supply_temp: float
    outdoor_temp: float
    space_temp: float | None
    draft: float
    spill: int
    co: int
    table_flow: int
    grid_flow: int
    rise: float | None

    @property
    def external_static(self) -> float:
        return round(abs(self.return_static) + self.supply_static, 2)

    def leakage(self, side: str, house: House) -> int:
        return sum(self.leaks[one.id] for one in house.leaks if one.side == side)


def take(stream: Stream, house: House, blower: Blower, air: Air) -> Taken:
    """Read a solved house."""
    drops: dict[str, float] = {}
    back = _ports(stream, air.ports[RETURN])
    ahead = _ports(stream, air.ports[SUPPLY][::-1])[::-1]
    for piece, outer, inner in zip(house.pieces[RETURN], (0.0, *back), back, strict=False):
        drops[piece.id] = round(outer - inner, 2)
    for piece, inner, outer in zip(house.pieces[SUPPLY], ahead, ahead[1:], strict=False):
        drops[piece.id] = round(inner - outer, 2)
    # What the branches hold is read where the plenum begins; the plenum's own drop with both ports on one instrument.
    drops["branches"] = ahead[-2]
    own = (air.ports[SUPPLY][-2] - air.ports[SUPPLY][-1]) / INCHES
    drops["plenum"] = round(own + stream.normal(figures.number("instrument/drop") / 2.0), 2)
    bias = 1.0 + stream.normal(_share("hood_bias"))
    rooms = {
        key: max(round(flow / CFM * bias * (1.0 + stream.normal(_share("room_flow")))), 1)
        for key, flow in air.rooms.items()
    }
    doors = {key: _door(stream, pressure) for key, pressure in air.doors.items()}
    grilles = (air.flow - air.leak(RETURN, house)) / CFM
    leaks = {one.id: max(round(one.at_25 / CFM * (1.0 + stream.normal(_share("leakage")))), 1) for one in house.leaks}
    degree = figures.number("instrument/temperature") / 2.0
    grille, unit, supply = _temperatures(stream, house, air)
    space = _space(house)
    return Taken(
        back[-1],
        ahead[0],
        {name: max(drop, 0.0) for name, drop in drops.items()},
        rooms,
        doors,
        {room.key: round(room.offset / FAHRENHEIT + stream.normal(degree), 1) for room in house.rooms},
        round(grilles * (1.0 + stream.normal(_share("grille_flow")))),
        round(electric_power(air.flow, air.static, blower.efficiency) * (1.0 + stream.normal(_share("power")))),
        leaks,
        round(grille + stream.normal(degree), 1),
        round(grille - house.weather.wet_bulb_under, 1),
        round(unit + stream.normal(degree), 1),
        round(supply + stream.normal(degree), 1),
        round(house.weather.outdoor + stream.normal(degree), 1),
        None if space is None else round(space + stream.normal(degree), 1),
        round(air.zone + house.zone.pull + stream.normal(figures.number("instrument/draft") / 2.0), 1),
        round(stream.between(figures.pair("zone/spill"))),
        int(stream.chosen(figures.weights("zone/co"))),
        table_flow(blower, back[-1], ahead[0]),
        round(air.flow / CFM * (1.0 + stream.normal(_share("flow_grid")))),
        None if house.furnace is None else round(_rise(house, air) + stream.normal(2.0 * degree), 1),
    )


def table_flow(blower: Blower, return_static: float, supply_static: float) -> int:
    """Airflow in cfm that somebody reads from the maker's table, straight between its rows, at the statics as read."""
    static = abs(return_static) + supply_static
    rows = blower.table
    for (s0, q0), (s1, q1) in pairwise(rows):
        if static <= s1:
            return round(q0 + (q1 - q0) * (static - s0) / (s1 - s0))
    return rows[-1][1]


def _door(stream: Stream, pressure: float) -> float:
    """Pressure behind a shut door, averaged over a minute."""
    sd = min(figures.number("instrument/door") / 2.0, figures.number("instrument/door_share") * pressure)
    return max(round(pressure + stream.normal(sd), 1), 0.1)


def _ports(stream: Stream, pressures: tuple[float, ...]) -> list[float]:
    """Ports from the rooms to the unit as read, in. w.c.; the one at the unit has the ± of a static, the others that of a drop.

    No port reads less than the one before it: a technician who sees that looks again.
    """
    sign = 1.0 if pressures[-1] > 0.0 else -1.0
    least = figures.number("instrument/least_drop")
    read: list[float] = []
    for index, pressure in enumerate(pressures):
        last = index == len(pressures) - 1
        doubt = figures.number("instrument/static" if last else "instrument/drop") / 2.0
        size = abs(pressure) / INCHES + stream.normal(doubt)
        read.append(max(size, (read[-1] if read else 0.0) + least))
    return [sign * round(one, 2) for one in read]


def _share(name: str) -> float:
    """One standard deviation of a reading as a share: half of its ± in percent."""
    return figures.number(f"instrument/{name}") / 200.0


def _temperatures(stream: Stream, house: House, air: Air) -> tuple[float, float, float]:
    """At the grille, entering the unit and leaving it, °F."""
    grille = house.weather.grille
    unit = grille + stream.between(figures.pair("instrument/warms"))
    for leak in house.leaks:
        if leak.side == RETURN:
            unit += warmed_by_leak(air.leaks[leak.id] / air.flow, grille, _air_of(house, leak.space))
    share = stream.between(figures.pair(f"climate/{house.climate}/sensible_share"))
    age = stream.between(figures.pair("blower/capacity_of_age"))
    heat = house.tons * TON * share * age * capacity_modifier(air.flow / house.nominal)
    split = temperature_rise(heat, air.flow, density_at(house.altitude)) / FAHRENHEIT
    return grille, unit, unit - split


def _rise(house: House, air: Air) -> float:
    """Rise of the new furnace at this airflow, °F."""
    output = 0.0 if house.furnace is None else house.furnace.output
    return temperature_rise(output, air.flow, density_at(house.altitude)) / FAHRENHEIT


def _air_of(house: House, space: str) -> float:
    known = {"attic": house.weather.attic, "crawl": house.weather.crawl, "outdoors": house.weather.outdoor}
    return known.get(space, house.weather.grille)


def _space(house: House) -> float | None:
    """Air of the attic or crawl space that ducts run through; None where they run through neither."""
    for space in (house.return_space, house.supply_space):
        if space in ("attic", "crawl"):
            return _air_of(house, space)
    return None
