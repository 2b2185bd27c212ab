"""The digest of a record: equal for two files that mean the same, whatever their format, order and units."""

import hashlib
import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, overload

from airwarrant.job.readings import Reading

if TYPE_CHECKING:
    from airwarrant.job.record import Blower, Item, JobRecord, Setting, Visit

FORMAT = "airwarrant/job/1"

# Finer than any instrument reads, coarser than what converting between units leaves behind.
_DECIMALS = 6


class Digest:
    """The field of a record that holds its digest: the one it was given, else its own, worked out when somebody asks."""

    @overload
    def __get__(self, record: None, kind: type["JobRecord"]) -> str: ...

    @overload
    def __get__(self, record: "JobRecord", kind: type["JobRecord"]) -> str: ...

    def __get__(self, record: "JobRecord | None", kind: type["JobRecord"]) -> str:
        if record is None:
            return ""  # nothing given
        held: dict[str, str] = record.__dict__
        if not held[_HELD]:
            held[_HELD] = digest_of(record)
        return held[_HELD]

    def __set__(self, record: "JobRecord", value: str) -> None:
        record.__dict__[_HELD] = value


_HELD = "_digest"


def digest_of(record: "JobRecord") -> str:
    """Return the SHA-256 of a record's meaning as hexadecimal text."""
    meaning = {
        "format": FORMAT,
        "id": record.id,
        "market": record.market,
        "demo": record.demo,
        "told": record.told,
        "dates": {name: day and day.isoformat() for name, day in record.dates.items()},
        "items": {key: _item(item) for key, item in record.items.items()},
        "old": _readings(record.old),
        "new": _readings(record.new),
        "old_blower": _blower(record.old_blower),
        "new_blower": _blower(record.new_blower),
        "visits": [_visit(visit) for visit in record.visits],
        "overrides": sorted([o.line, o.decision, o.reason, o.by] for o in record.overrides),
        "choices": sorted([c.option, str(c.accepted), c.line, c.decision] for c in record.choices),
        "instruments": {
            key: [one.kind, one.checked and one.checked.isoformat()] for key, one in record.instruments.items()
        },
    }
    if record.labels:
        meaning["labels"] = dict(record.labels)
    text = json.dumps(meaning, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _item(item: "Item") -> dict[str, Any]:
    meaning: dict[str, Any] = {
        "kind": item.kind,
        "words": dict(item.words),
        "links": dict(item.links),
        "numbers": _readings(item.numbers),
    }
    # Which photograph is no more than a reference; that there is one is something rules may ask.
    return meaning | ({"name": item.name} if item.name else {}) | ({"photographed": True} if item.photo else {})


def _visit(visit: "Visit") -> dict[str, Any]:
    return {
        "kind": visit.kind,
        "unit": visit.unit,
        "date": visit.date.isoformat(),
        "fan_setting": visit.fan_setting,
        "words": dict(visit.words),
        "readings": _readings({f"{key}.{field}": one for (key, field), one in visit.readings.items()}),
    }


def _readings(readings: Mapping[str, Reading]) -> dict[str, Any]:
    return {
        name: [
            _number(one.value),
            one.unit,
            one.state,
            None if one.plus_minus is None else _number(one.plus_minus),
            one.instrument,
            dict(one.conditions) if one.conditions else {},
            one.by,
            one.time,
        ]
        for name, one in readings.items()
    }


def _blower(blower: "Blower | None") -> Any:
    if blower is None:
        return None
    settings = [
        [s.name, [[_number(static), _number(flow)] for static, flow in s.table], *_power(s)] for s in blower.settings
    ]
    return [blower.kind, settings]


def _number(value: float) -> str:
    text = f"{value:.{_DECIMALS}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


def _power(setting: "Setting") -> list[list[Any]]:
    """Power of the rows, where it is written: a table without it keeps the digest that it had."""
    return [[_number(watts) for watts in setting.power]] if setting.power else []
