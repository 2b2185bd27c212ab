"""The record as the papers tell it: what is there, what was read on each visit, with what, by whom; titles and units beside each."""

from typing import Any

from airwarrant.job.dictionary import HOUSE_KEY, KINDS, PHOTOGRAPHED
from airwarrant.job.fields import Field
from airwarrant.job.readings import Reading
from airwarrant.job.record import Blower, Item, JobRecord, Visit
from airwarrant.units import number


def record_json(record: JobRecord) -> dict[str, Any]:
    """Return the facts, visits, instruments and blower tables of a record, in the dictionary's units and order."""
    return {
        "told": record.told,
        "units": record.units,
        "labels": dict(sorted(record.labels.items())),
        "items": {key: _item(item) for key, item in record.items.items()},
        "old": {name: _number(one) for name, one in sorted(record.old.items())},
        "new": {name: _number(one) for name, one in sorted(record.new.items())},
        "old_blower": _blower(record.old_blower),
        "new_blower": _blower(record.new_blower),
        "visits": [_visit(record, visit) for visit in record.visits],
        "instruments": [
            {"id": key, "kind": one.kind, "checked": str(one.checked) if one.checked else ""}
            for key, one in sorted(record.instruments.items())
        ],
    }


def _item(item: Item) -> dict[str, Any]:
    kind = KINDS[item.kind]
    facts: dict[str, Any] = {}
    for name, field in kind.fields.items():
        if name in item.words and name != PHOTOGRAPHED:
            facts[name] = {"title": field.title, "word": item.words[name]}
        elif name in item.links:
            facts[name] = {"title": field.title, "word": item.links[name]}
        elif name in item.numbers:
            facts[name] = {"title": field.title, **_number(item.numbers[name])}
    return {"kind": item.kind, "title": kind.title, "name": item.name, "photo": item.photo, "facts": facts}


def _number(one: Reading) -> dict[str, Any]:
    return {"value": number(one.value, one.unit), "unit": one.unit}


def _blower(blower: Blower | None) -> dict[str, Any] | None:
    """Tables of (external static in in. w.c., airflow in cfm)."""
    if blower is None:
        return None
    settings = [
        {"name": one.name, "rows": [[number(s, "in. w.c."), number(q, "cfm")] for s, q in one.table]}
        for one in blower.settings
    ]
    return {"kind": blower.kind, "settings": settings}


def _visit(record: JobRecord, visit: Visit) -> dict[str, Any]:
    return {
        "index": visit.index,
        "kind": visit.kind,
        "unit": visit.unit,
        "date": str(visit.date),
        "fan_setting": visit.fan_setting,
        "words": dict(sorted(visit.words.items())),
        "readings": [
            _reading(key, name, _field(record, key, name), one) for (key, name), one in sorted(visit.readings.items())
        ],
    }


def _field(record: JobRecord, key: str, name: str) -> Field:
    return KINDS[HOUSE_KEY if key == HOUSE_KEY else record.items[key].kind].fields[name]


def _reading(key: str, name: str, field: Field, one: Reading) -> dict[str, Any]:
    out: dict[str, Any] = {"key": key, "field": name, "title": field.title, **_number(one), "state": one.state}
    if one.plus_minus is not None:
        out["plus_minus"] = number(one.plus_minus, one.unit)
    said = {"instrument": one.instrument, "by": one.by, "time": one.time, "photo": one.photo}
    return {**out, **{name: text for name, text in said.items() if text}}
