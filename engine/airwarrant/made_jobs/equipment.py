"""The blocks ``[old]`` and ``[new]`` of a made record."""

from typing import Any

from airwarrant.air.heating import density_at, flow_for_rise
from airwarrant.made_jobs import figures
from airwarrant.made_jobs.drawn import BTUH, CFM, FAHRENHEIT, Blower, Furnace, House
from airwarrant.made_jobs.stream import Stream

Data = dict[str, Any]


def old_unit(stream: Stream, house: House) -> Data:
    """The unit that is there."""
    return {
        "form": house.form,
        "runs": "no" if "dead-unit" in house.planted else "yes",
        "tons": house.tons,
        "static_max": float(stream.chosen(figures.weights("blower/old_static_max"))),
        "blower": {"kind": house.old.kind, "table_includes": "stated", "setting": [_setting(house.old)]},
    }


def new_unit(stream: Stream, house: House) -> Data:
    """The unit to come; it suits the heat of the house, so that only the air side is in question."""
    return {
        "form": house.form,
        "fuel": "heat-pump" if house.furnace is None else "gas",
        "tons": house.tons,
        "capacity": 100 * round(house.tons * 12000.0 * stream.between(figures.pair("blower/rated_share")) / 100.0),
        "seer": round(stream.between(figures.pair("blower/seer")), 1),
        "valve": "txv",
        "static_max": float(stream.chosen(figures.weights("blower/new_static_max"))),
        "maker_min_per_ton": float(stream.chosen(figures.weights("blower/maker_min_per_ton"))),
        **(_strips(stream, house) if house.furnace is None else _burns(house.furnace, house)),
        "refrigerant": "a2l",
        "charge_checked": "yes",
        "eligible": "yes",
        "coil_over_finish": "no",
        "blower": {"kind": house.new[0].kind, "setting": [_setting(one) for one in house.new]},
    }


def _burns(furnace: Furnace, house: House) -> Data:
    return {
        "heat_output": round(furnace.output / BTUH),
        "rise_low": round(furnace.low / FAHRENHEIT),
        "rise_high": round(furnace.high / FAHRENHEIT),
        "heat_min_flow": round(flow_for_rise(furnace.output, furnace.high, density_at(house.altitude)) / CFM),
    }


def _strips(stream: Stream, house: House) -> Data:
    return {
        "strip_heat": float(stream.chosen(figures.weights("heating/strips"))),
        "heat_min_flow": 10 * round(figures.number("heating/strip_flow_per_ton") * house.tons / 10.0),
    }


def _setting(blower: Blower) -> Data:
    data: Data = {"name": blower.setting, "table": [list(row) for row in blower.table]}
    return {**data, "power": list(blower.power)} if blower.power else data
