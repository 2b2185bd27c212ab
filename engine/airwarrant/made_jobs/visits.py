"""The visits of a made job: test-in, and after balancing or building where the job has them."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from airwarrant.job.test_out import FORMAT
from airwarrant.made_jobs import figures
from airwarrant.made_jobs.air_path import air_of
from airwarrant.made_jobs.drawn import IN2, RETURN, SUPPLY, Blower, House
from airwarrant.made_jobs.instruments import Taken, take
from airwarrant.made_jobs.stream import Stream
from airwarrant.made_jobs.work import balanced, built

Data = dict[str, Any]

_DROPS = {
    "filter-grille": "filter_drop",
    "return-duct": "return_duct_drop",
    "platform": "return_duct_drop",
    "collar": "collar_drop",
    "coil": "coil_drop",
}


def visits_of(stream: Stream, house: House) -> Iterator[Data]:
    """Yield the visits that a record holds, in order."""
    loaded = "loaded-filter" in house.planted
    times = stream.between(figures.pair("cause/loaded-filter/drop_times")) if loaded else 1.0
    taken = take(stream, house, house.old, air_of(house, house.old, filter_times=times))
    first = _visit("test-in", house, house.old, taken, house.day) | {"filter": "loaded" if loaded else "clean"}
    yield _mistaken(stream, house, first)
    if "after-balance" in house.planted:
        after = balanced(stream, house)
        taken = take(stream, after, house.old, air_of(after, house.old))
        yield _visit("after-balance", after, house.old, taken, _later(stream, house.day, "days_to_balance"))


def test_out_data(stream: Stream, house: House, job: str) -> Data:
    """Return the test-out file of a house that was built, as data."""
    done, blower = built(stream, house)
    taken = take(stream, done, blower, air_of(done, blower))
    day = _later(stream, house.day, "days_to_test_out")
    visit = _visit("test-out", done, blower, taken, day)
    doubt = round(figures.number("instrument/flow_grid") / 100.0 * taken.grid_flow)
    visit |= {
        "flow_method": "flow-grid",
        "same_ports": "yes",
        "smoke_check": "leaks" if "poor-work" in house.planted else "clear",
        "airflow": {"value": taken.grid_flow, "state": "measured", "plus_minus": doubt},
        "grille_area": round(done.grille_area / IN2),
        **({} if taken.rise is None else {"temperature_rise": taken.rise}),
    }
    return {"format": FORMAT, "job": job, "units": "ip", "demo": True, "visit": [visit]}


def _later(stream: Stream, day: date, name: str) -> date:
    return day + timedelta(days=round(stream.between(figures.pair(f"work/{name}"))))


def _visit(kind: str, house: House, blower: Blower, taken: Taken, day: date) -> Data:
    data: Data = {
        "kind": kind,
        "unit": "new" if kind == "test-out" else "old",
        "date": day,
        "fan_setting": blower.setting,
        "filter": "clean",
        "doors": "open",
        "registers": "open",
        "dampers": "normal",
        "return_probe": "straight",
        "supply_probe": "straight",
        "flow_method": "blower-table",
        "hood": "powered",
        "leakage_method": "fan-total",
        "return_static": taken.return_static,
        "supply_static": taken.supply_static,
        "external_static": taken.external_static,
        **{_DROPS[piece]: drop for piece, drop in taken.drops.items() if piece in _DROPS},
        "branch_drop": taken.drops["branches"],
        "airflow": {"value": taken.table_flow, "state": "table"},
        "register_flow": sum(taken.rooms.values()),
        "grille_flow": taken.grille_flow,
        "power": taken.power,
        "leakage_25": taken.leakage(RETURN, house) + taken.leakage(SUPPLY, house),
        "leakage_return_25": taken.leakage(RETURN, house),
        "leakage_supply_25": taken.leakage(SUPPLY, house),
        "grille_temp": taken.grille_temp,
        "grille_wet_bulb": taken.wet_bulb,
        "unit_temp": taken.unit_temp,
        "supply_temp": taken.supply_temp,
        **({} if taken.space_temp is None else {"attic_temp": taken.space_temp}),
        "outdoor_temp": taken.outdoor_temp,
        "ambient_co": taken.co,
        "gas_smell": "no",
    }
    if house.form == "package-roof":
        legs = {"return_leg": taken.drops["return-elbow"], "supply_leg": taken.drops["supply-elbow"]}
        data["elbow"] = [{"id": "roof-elbow", **legs}]
    data["plenum"] = [{"id": "supply-plenum", "drop": taken.drops["plenum"]}]
    data["leak"] = [{"id": leak.id, "leak_25": taken.leaks[leak.id]} for leak in house.leaks]
    if house.zone.open_draft:
        data["zone"] = [{"id": house.zone.key, "draft": taken.draft}]
    if "water-heater" in house.zone.appliances:
        data["appliance"] = [{"id": "water-heater", "spill": taken.spill}]
    data["room"] = [_room(room.key, taken) for room in house.rooms]
    return data


def _room(key: str, taken: Taken) -> Data:
    data: Data = {"id": key, "flow": taken.rooms[key]}
    if key in taken.doors:
        doubt = figures.number("instrument/door")
        data["door_pressure"] = {"value": taken.doors[key], "plus_minus": doubt, "doors": "closed"}
    return {**data, "offset": taken.offsets[key]}


def _mistaken(stream: Stream, house: House, visit: Data) -> Data:
    """The first visit with what was not read, or was written down wrong."""
    planted = house.planted
    if "carbon-monoxide" in planted:
        visit = {**visit, "ambient_co": round(stream.between(figures.pair("cause/carbon-monoxide/co")))}
    if "dead-unit" in planted:
        # A fan of the tester's own needs no running unit.
        still = ("kind", "unit", "date", "leakage_method", "outdoor_temp", "ambient_co", "gas_smell", "leak")
        visit = {name: value for name, value in visit.items() if name in still or name.startswith("leakage_")}
    if "missing-static" in planted:
        visit = {
            name: value for name, value in visit.items() if name not in ("return_static", "external_static", "airflow")
        }
    if "no-leakage-test" in planted:
        gone = ("leakage_25", "leakage_return_25", "leakage_supply_25", "leakage_method", "leak")
        visit = {name: value for name, value in visit.items() if name not in gone}
    if "mistyped-static" in planted:
        off = stream.between(figures.pair("cause/mistyped-static/off"))
        visit = {**visit, "external_static": round(visit["external_static"] + off, 2)}
    if "mistyped-registers" in planted:
        visit = {
            **visit,
            "register_flow": round(
                visit["register_flow"] * stream.between(figures.pair("cause/mistyped-registers/times"))
            ),
        }
    return visit
