"""The blocks ``[old]`` and ``[new]`` of a made record."""

from typing import Any

from airwarrant.air.heating import density_at, flow_for_rise, sensible_heat
from airwarrant.made_jobs import figures
from airwarrant.made_jobs.drawn import BTUH, CFM, FAHRENHEIT, Blower, House
from airwarrant.made_jobs.stream import Stream

Data = dict[str, Any]


def old_unit(stream: Stream, house: House) -> Data:
    """The unit that is there."""
    return {
        "form": house.form,
        "runs": "yes",
        "tons": house.tons,
        "static_max": float(stream.chosen(figures.weights("blower/old_static_max"))),
        "blower": {"kind": house.old.kind, "table_includes": "stated", "setting": [_setting(house.old)]},
    }


def new_unit(stream: Stream, house: House) -> Data:
    """The unit to come; it suits the heat of the house, so that only the air side is in question."""
    fuel = "heat-pump"
    if house.form == "furnace-coil" or (house.form.startswith("package") and house.zone.appliances):
        fuel = "gas"
    return {
        "form": house.form,
        "fuel": fuel,
        "tons": house.tons,
        "capacity": 100 * round(house.tons * 12000.0 * stream.between(figures.pair("blower/rated_share")) / 100.0),
        "seer": round(stream.between(figures.pair("blower/seer")), 1),
        "valve": "txv",
        "static_max": float(stream.chosen(figures.weights("blower/new_static_max"))),
        "maker_min_per_ton": float(stream.chosen(figures.weights("blower/maker_min_per_ton"))),
        **(_burns(stream, house) if fuel == "gas" else _strips(stream, house)),
        "refrigerant": "a2l",
        "charge_checked": "yes",
        "eligible": "yes",
        "coil_over_finish": "no",
        "blower": {"kind": house.new[0].kind, "setting": [_setting(one) for one in house.new]},
    }


def _burns(stream: Stream, house: House) -> Data:
    """A furnace whose rise lies in the middle of its label at a usual airflow."""
    rise, label = stream.between(figures.pair("heating/rise")), figures.number("heating/label")
    density = density_at(house.altitude)
    flow = figures.number("heating/per_ton") * house.tons * CFM
    output = 1000 * round(sensible_heat(flow, rise * FAHRENHEIT, density) / BTUH / 1000.0)
    low, high = 5 * round((rise - label) / 5.0), 5 * round((rise + label) / 5.0)
    least = flow_for_rise(output * BTUH, high * FAHRENHEIT, density)
    return {"heat_output": output, "rise_low": low, "rise_high": high, "heat_min_flow": round(least / CFM)}


def _strips(stream: Stream, house: House) -> Data:
    return {
        "strip_heat": float(stream.chosen(figures.weights("heating/strips"))),
        "heat_min_flow": 10 * round(figures.number("heating/strip_flow_per_ton") * house.tons / 10.0),
    }


def _setting(blower: Blower) -> Data:
    data: Data = {"name": blower.setting, "table": [list(row) for row in blower.table]}
    return {**data, "power": list(blower.power)} if blower.power else data
