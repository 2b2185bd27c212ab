"""A record that holds a little of everything, as text and as data in both unit systems and formats."""

import json
import tomllib
from datetime import date
from typing import Any

from airwarrant.job.dictionary import HOUSE_KEY, KINDS, Field
from airwarrant.units import convert

WHOLE = """format = "airwarrant/job/1"
id = "1042"
market = "copper-basin"
units = "ip"
demo = true
note = "ä remark"
dates = { survey = 2026-07-14, proposal = 2026-07-17 }

[house]
floor_area = 1720
year_built = 1994
altitude = 1150
return_path_space = "attic"
told = "Bed 2 is höt"

[old]
form = "package-roof"
runs = "yes"
tons = 3.5
static_max = 0.8
[old.blower]
kind = "fixed-speed"
table_includes = "stated"
[[old.blower.setting]]
name = "high"
table = [[0.3, 1330], [0.4, 1285], [0.5, 1235]]

[new]
form = "package-roof"
fuel = "gas"
tons = 4
static_max = 0.9
maker_min_per_ton = 350
[new.blower]
kind = "fixed-speed"
[[new.blower.setting]]
name = "medium"
table = [[0.2, 1500], [0.3, 1455]]
[[new.blower.setting]]
name = "high"
table = [[0.2, 1600], [0.3, 1555]]

[[elbow]]
id = "roof-elbow"
style = "narrow-two-plane"
roof_access = "unknown"

[[return]]
id = "hall-return"
diameter = 18
lands = "unit-plenum"

[[room]]
id = "bed-2"
use = "bedroom"
complaint = "hot"
target = 90

[[room]]
id = "bath"
use = "bath"

[[zone]]
id = "closet"
open_draft = "yes"

[[appliance]]
id = "water-heater"
zone = "closet"

[[instrument]]
id = "manometer-2"
kind = "manometer"
checked = 2026-03-01

[[visit]]
kind = "test-in"
unit = "old"
fan_setting = "high"
filter = "clean"
return_static = { value = -0.48, state = "measured", plus_minus = 0.03, instrument = "manometer-2", time = "10:40" }
external_static = 0.86
airflow = { value = 1013, state = "table" }
grille_temp = { value = 78.5, plus_minus = 1.8 }
temperature_rise = 40
[[visit.elbow]]
id = "roof-elbow"
return_leg = 0.18
[[visit.room]]
id = "bed-2"
flow = 72
door_pressure = { value = 7.2, doors = "closed", filter = "loaded" }
offset = 4

[[visit]]
kind = "after-balance"
unit = "old"
date = 2026-07-15
doors = "open"
[[visit.room]]
id = "bed-2"
flow = 81

[[visit]]
kind = "test-out"
unit = "new"
date = 2026-08-02
external_static = 0.6
[[visit.room]]
id = "bed-2"
flow = 92

[[choice]]
option = "better"
accepted = true
[[choice]]
line = "replace-elbow@roof-elbow"
decision = "declined"

[[override]]
line = "add-return@house"
decision = "left-out"
reason = "no way through the truss"
by = "estimator-1"
"""


def whole() -> dict[str, Any]:
    """The record as plain data."""
    return tomllib.loads(WHOLE)


def as_json(data: dict[str, Any]) -> bytes:
    """A record's data as JSON text, days as text."""
    return json.dumps(data, ensure_ascii=False, default=_day).encode()


def in_si(data: dict[str, Any]) -> dict[str, Any]:
    """The same record with every number in SI."""
    out: dict[str, Any] = json.loads(as_json(data))
    out["units"] = "si"
    house = KINDS[HOUSE_KEY]
    for name in ("house", "old", "new"):
        out[name] = _block(out[name], house.fields.values())
        for setting in out[name].get("blower", {}).get("setting", []):
            setting["table"] = [[convert(a, "in. w.c.", "Pa"), convert(b, "cfm", "L/s")] for a, b in setting["table"]]
    out["visit"] = [_block(visit, house.fields.values()) for visit in out["visit"]]
    for holder in (out, *out["visit"]):
        for kind in KINDS.values():
            if kind.name in holder and kind.name != HOUSE_KEY:
                holder[kind.name] = [_block(one, kind.fields.values()) for one in holder[kind.name]]
    return out


def _block(block: dict[str, Any], fields: Any) -> dict[str, Any]:
    by_key = {f.key or f.name: f for f in fields if f.form in ("reading", "number")}
    return {key: _converted(value, by_key[key]) if key in by_key else value for key, value in block.items()}


def _converted(value: Any, field: Field) -> Any:
    if not isinstance(value, dict):
        return convert(value, field.unit, field.si_unit)
    out = {**value, "value": convert(value["value"], field.unit, field.si_unit)}
    if "plus_minus" in value:
        units = ("F diff", "K") if field.unit == "F" else (field.unit, field.si_unit)
        out["plus_minus"] = convert(value["plus_minus"], *units)
    return out


def _day(value: Any) -> str:
    assert isinstance(value, date)
    return value.isoformat()
