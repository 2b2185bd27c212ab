"""Every reading of the record as an auditor checks it: state, plus or minus, instrument, photo and where it is written."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.papers.numbers import amount
from airwarrant.papers.sheet import HOUSE, Sheet
from airwarrant.result.why_rows import RecordPlaces
from airwarrant.units import fixed

TEST_OUT = "test-out"


@dataclass(frozen=True, slots=True)
class Read:
    """One reading; `doubt_from` names the policy value its ± is from, `instrument` comes with its last check."""

    key: str
    title: str
    value: str
    doubt: str
    doubt_from: str
    state: str
    instrument: str
    by: str
    photo: str
    at: str


@dataclass(frozen=True, slots=True)
class Later:
    """A reading at test-out beside what was found and what was predicted."""

    key: str
    title: str
    found: str
    predicted: str
    read: str


def readings(sheet: Sheet) -> list[tuple[Mapping[str, Any], list[Read]]]:
    """Return every visit with its readings."""
    places, doubts = RecordPlaces(sheet.result), dict(_doubts(sheet.result["verdicts"]))
    checked = {one["id"]: one["checked"] for one in sheet.result["record"]["instruments"]}
    out = []
    for visit in sheet.visits():
        rows = []
        for one in visit["readings"]:
            path = _path(sheet, visit, one)
            known = doubts.get(path, {})
            doubt = one.get("plus_minus", known.get("plus_minus"))
            of = "" if "plus_minus" in one else known.get("plus_minus_from", "")
            held = of if of in sheet.result["trace"]["policy"] else ""
            instrument = ", ".join(filter(None, (one.get("instrument", ""), checked.get(one.get("instrument"), ""))))
            rows.append(
                Read(
                    one["key"],
                    sheet.say(one["title"]),
                    amount(one["value"], one["unit"]),
                    "" if doubt is None else fixed(doubt, one["unit"]),
                    held,
                    one["state"],
                    instrument,
                    " ".join(filter(None, (one.get("by", ""), one.get("time", "")))),
                    one.get("photo", ""),
                    places.reading(path),
                )
            )
        out.append((visit, rows))
    return out


def later_readings(sheet: Sheet) -> list[Later]:
    """Return what was read at test-out and had been predicted; nothing where there was no such visit."""
    scope = sheet.result["predictions"]["scope"]
    found = {(one["key"], one["field"]): one for visit in sheet.visits() for one in _found(visit)}
    out = []
    for visit in sheet.visits(TEST_OUT):
        for one in visit["readings"]:
            predicted = sheet.predicted(scope, one["key"], one["field"])
            if predicted:
                before = found.get((one["key"], one["field"]))
                shown = amount(before["value"], before["unit"]) if before else ""
                value = amount(one["value"], one["unit"])
                out.append(Later(one["key"], sheet.say(one["title"]), shown, predicted, value))
    return out


def _found(visit: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return [] if visit["kind"] == TEST_OUT else list(visit["readings"])


def _path(sheet: Sheet, visit: Mapping[str, Any], one: Mapping[str, Any]) -> str:
    """Where the record has a reading, as its places are named."""
    base = f"visit[{visit['index']}]"
    if one["key"] == HOUSE:
        return f"{base}.{one['field']}"
    kind = sheet.result["record"]["items"][one["key"]]["kind"]
    return f"{base}.{kind}[{one['key']}].{one['field']}"


def _doubts(verdicts: list[Mapping[str, Any]]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Readings by path as they were judged, each with its ±."""
    for verdict in verdicts:
        for part in ("reading", "limit"):
            if part in verdict:
                yield from _inside(verdict[part])


def _inside(number: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if number.get("path") and "plus_minus" in number:
        yield number["path"], number
    for part in number.get("parts", ()):
        yield from _inside(part)
