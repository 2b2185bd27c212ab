"""What more or less air does to the temperature of a room in cooling, as a range.

The room's load comes from how warm it was found, or, where nobody measured that, from the record's loads with the rooms' mean held at
the thermostat. The range is over what the record does not tell: how much supply air warms on its way to the register, how much heat
the room trades with its surroundings, and, where the whole system moves more air, whether the unit still cools it as far. It is not
over the readings' own ±: give arrays of offsets and flows for that.

Taken as steady: a hot afternoon with the unit running throughout, the same sun and doors as when the room was read.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product
from math import fsum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from airwarrant.air.room_load import air_heat
from airwarrant.air.room_temperature import load_behind, room_offset
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.room_loads import rooms_of
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import reading
from airwarrant.job.record import JobRecord

Floats = NDArray[np.float64]

#: Policy parameter -> unit it must convert to.
NEEDED: Mapping[str, str] = MappingProxyType(
    {
        "load_supply_below": "K",
        "load_supply_rise": "K",
        "load_exchange_low": "W/m2/K",
        "load_exchange_high": "W/m2/K",
    }
)


@dataclass(frozen=True, slots=True)
class RoomHeat:
    """What the balance of a room rests on; SI, each pair from low to high.

    Attributes
    ----------
    offset : float or None
        How far the room was found above the thermostat [K]; None where nobody measured it.
    carried : float or None
        Load by the record for each degree that supply air is below the thermostat [W/K], scaled so that what all rooms' air carries off
        is all rooms' load; only without `offset`.
    flow : float
        Air into the room as found [m3/s].
    below : tuple of float
        Supply air at the register below the thermostat [K].
    exchange : tuple of float
        Heat the room trades for each degree [W/K].
    heat : float
        Of a volume of air [J/(m3 K)].
    assumed : tuple of str
        Policy parameters the range rests on.
    """

    offset: float | None
    carried: float | None
    flow: float
    below: tuple[float, float]
    exchange: tuple[float, float]
    heat: float
    assumed: tuple[str, ...]


def room_heat(record: JobRecord, key: str, assumptions: Assumptions) -> RoomHeat | None:
    """Gather what the balance of a room needs, or None where it lacks.

    Parameters
    ----------
    record : JobRecord
        The room's flow as found; its `offset`, or loads and flows of all rooms; its floor area, or that of the house.
    key : str
        Key of the room.
    assumptions : Assumptions
        With all of `NEEDED`.
    """
    flow = _found(record, key, "flow")
    below, by_policy = _supply(record, assumptions)
    area = _area(record, key)
    offset = _found(record, key, "offset")
    if flow is None or flow <= 0.0 or below is None or area is None:
        return None
    heat = air_heat(_number(record, HOUSE_KEY, "altitude") or 0.0)
    carried = _carried(record, key, heat) if offset is None else None
    if (offset is None and carried is None) or (offset is not None and below[0] + offset <= 0.0):
        return None
    exchange = (area * assumptions["load_exchange_low"], area * assumptions["load_exchange_high"])
    assumed = ("load_supply_rise", "load_exchange_low", "load_exchange_high")
    return RoomHeat(offset, carried, flow, below, exchange, heat, (*by_policy, *assumed))


def offset_after(
    room: RoomHeat,
    new_flow: float | Floats,
    *,
    system_ratio: float | Floats = 1.0,
    offset: float | Floats | None = None,
    flow: float | Floats | None = None,
) -> tuple[Floats, Floats]:
    """How far a room will stand above the thermostat at another flow, least and most [K].

    Parameters
    ----------
    room : RoomHeat
    new_flow : float or ndarray
        Into the room [m3/s].
    system_ratio : float or ndarray
        Airflow of the system then over now. The supply air then is between as cold as now and warmer by just so much that the unit
        carries off the same heat.
    offset, flow : float or ndarray, optional
        In place of what was found, such as draws of the readings.

    Returns
    -------
    tuple of ndarray
        Of the shape of the arguments together. The flow and system as found give the offset as found; at an unchanged system more air
        never gives a warmer room.

    Raises
    ------
    ValueError
        If a flow or `system_ratio` is not above 0.
    """
    was = room.offset if offset is None else offset
    given = (room.flow if flow is None else flow, new_flow, system_ratio, 0.0 if was is None else was)
    q0, q1, ratio, t0 = np.broadcast_arrays(*(np.asarray(x, dtype=np.float64) for x in given))
    if not (np.all(q0 > 0.0) and np.all(q1 > 0.0) and np.all(ratio > 0.0)):
        raise ValueError("flows and the ratio of flows must be above 0")
    found = []
    for below, exchange in product(room.below, room.exchange):
        ua, d = np.full_like(q0, exchange), np.full_like(q0, below)
        load = (room.carried or 0.0) * d if was is None else load_behind(t0, q0, ua, d, room.heat)
        found += [room_offset(load, q1, ua, d / held, room.heat) for held in (np.ones_like(ratio), ratio)]
    every = np.stack(found)
    return every.min(axis=0), every.max(axis=0)


def _supply(record: JobRecord, a: Assumptions) -> tuple[tuple[float, float] | None, tuple[str, ...]]:
    """Supply air at the register below room air, least and most; None where the air is not colder than the room."""
    grille, supply = (_found(record, HOUSE_KEY, name) for name in ("grille_temp", "supply_temp"))
    read = grille is not None and supply is not None
    at_unit = grille - supply if grille is not None and supply is not None else a["load_supply_below"]
    low = at_unit - a["load_supply_rise"]
    return (low, at_unit) if low > 0.0 else None, () if read else ("load_supply_below",)


def _carried(record: JobRecord, key: str, heat: float) -> float | None:
    """The room's part of what all rooms' air carries off for each degree; None unless all rooms have load and flow."""
    rooms = [room.key for room in rooms_of(record)]
    loads = {room: _number(record, room, "load") for room in rooms}
    flows = {room: _found(record, room, "flow") for room in rooms}
    known_loads = [x for x in loads.values() if x is not None]
    known_flows = [x for x in flows.values() if x is not None]
    own = loads.get(key)
    if own is None or len(known_loads) < len(rooms) or len(known_flows) < len(rooms) or fsum(known_loads) <= 0.0:
        return None
    return own * heat * fsum(known_flows) / fsum(known_loads)


def _area(record: JobRecord, key: str) -> float | None:
    """Floor area of the room; an even part of the house's where it has none."""
    own, house = _number(record, key, "area"), _number(record, HOUSE_KEY, "floor_area")
    return own if own is not None else None if house is None else house / len(rooms_of(record))


def _number(record: JobRecord, key: str, name: str) -> float | None:
    found = record.items[key].numbers.get(name)
    return None if found is None else si(found)


def _found(record: JobRecord, key: str, name: str) -> float | None:
    found = reading(record, key, name, "found")
    return None if found is None else si(found)
