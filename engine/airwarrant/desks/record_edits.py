"""Changes of a record, one value each, put into its own data: what a person would write into the file, checked as the file is checked."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from airwarrant.job.dictionary import HOUSE_KEY, KINDS, PHOTOGRAPHED, Field
from airwarrant.job.lookup import found_visits
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.job.shape import unit_of
from airwarrant.source.document import Document
from airwarrant.source.place import Place
from airwarrant.source.syntax import Path
from airwarrant.units import UNITS, convert

BALANCED = "balanced"


@dataclass(frozen=True, slots=True)
class Edit:
    """One value of a record otherwise.

    Attributes
    ----------
    key, field : str
        ``house`` or an item, and a field of its kind.
    title : str
        What the field is.
    path : tuple
        Where the record's data holds it. An item of a visit that the visit does not name yet is named by its kind and id.
    before, after : float, str or None
        As the record writes them; `before` is None where it says nothing.
    unit : str
        Unit of both; empty for a word.
    place : Place or None
        Where the record says what was before.
    """

    key: str
    field: str
    title: str
    path: Path
    before: float | str | None
    after: float | str
    unit: str = ""
    place: Place | None = None

    @property
    def share(self) -> float:
        """Size of the change beside the larger of both numbers; of a word and of what was not there, 1."""
        if isinstance(self.before, str) or isinstance(self.after, str) or self.before is None:
            return 1.0
        return abs(self.after - self.before) / max(abs(self.after), abs(self.before), 1e-9)

    @property
    def is_word(self) -> bool:
        return isinstance(self.after, str)


def field_of(record: JobRecord, key: str, name: str) -> Field:
    """The dictionary's field of a subject."""
    return KINDS[record.items[key].kind].fields[name]


def number_edit(
    document: Document, record: JobRecord, key: str, name: str, time: str, reading: Reading | None
) -> Edit | None:
    """The edit, still without a change, of a reading or number of a record, there or not; None where no file can hold it."""
    field = field_of(record, key, name)
    path = _path(document, record, key, field, time, reading)
    if path is None or field.form not in ("reading", "number"):
        return None
    unit = unit_of(field, record.units)
    before = None if reading is None else round(convert(reading.value, field.unit, unit), 9)
    return Edit(
        key,
        name,
        field.title,
        path,
        before,
        0.0 if before is None else before,
        unit,
        reading.place if reading else None,
    )


def word_edit(document: Document, record: JobRecord, key: str, name: str, now: str, word: str) -> Edit | None:
    """The edit that makes a closed word another; None where it follows from more than one value of the record."""
    field = field_of(record, key, name)
    place = record.word_places.get((key, name))
    if field.section == "derived":
        if name == PHOTOGRAPHED and word == "yes":
            path: Path | None = (*_item(document, record.items[key].kind, key), "photo")
        elif name == BALANCED and word == "yes":
            path = ("visit", len(document.data.get("visit", [])))
        else:
            return None
    else:
        path = _path(document, record, key, field, "found", None)
    return None if path is None else Edit(key, name, field.title, path, now, word, "", place)


def with_edits(document: Document, edits: Iterable[Edit]) -> Document:
    """The record's data with the edits in it; every other value keeps its place."""
    data: Any = document.data
    for edit in edits:
        value: Any = edit.after
        if edit.field == PHOTOGRAPHED:
            value = "photographed"
        elif edit.field == BALANCED:
            value = _after_balance(document)
        data = _put(data, edit.path, value)
    return replace(document, data=data)


def _after_balance(document: Document) -> dict[str, Any]:
    """A visit after balancing, on the day and at the fan setting of the last."""
    visits = document.data.get("visit", [])
    day = max([*(visit["date"] for visit in visits if "date" in visit), document.data["dates"]["survey"]])
    setting = next((visit["fan_setting"] for visit in reversed(visits) if "fan_setting" in visit), None)
    return {"kind": "after-balance", "unit": "old", "date": day} | ({"fan_setting": setting} if setting else {})


def _put(data: Any, path: Path, value: Any) -> Any:
    """A copy of data with a value at a path; a block that is not there is made."""
    if not path:
        # A reading written as a table keeps its state, its ± and who read it.
        return {**data, "value": value} if isinstance(data, dict) and "value" in data else value
    head, rest = path[0], path[1:]
    if isinstance(head, int):
        held = list(data or [])
        if head == len(held):
            held.append({"id": rest[0], rest[1]: value} if len(rest) == 2 else value)
        else:
            held[head] = _put(held[head], rest, value)
        return held
    block = dict(data or {})
    block[head] = _put(block.get(head), rest, value)
    return block


def _path(
    document: Document, record: JobRecord, key: str, field: Field, time: str, reading: Reading | None
) -> Path | None:
    name = field.key or field.name
    if field.timed:
        return ("old" if time == "found" else "new", name)
    if field.section in ("house", "old", "new"):
        return (field.section, name)
    if field.section in ("old-blower", "new-blower"):
        return (field.section.partition("-")[0], "blower", name)
    kind = record.items[key].kind
    if field.section == "item":
        return (*_item(document, kind, key), name)
    if field.section != "visit":
        return None
    found = found_visits(record)
    index = reading.visit if reading is not None else _visit_of(record, key, field, found[0].index if found else None)
    if index is None:
        return None
    if key == HOUSE_KEY:
        return ("visit", index, name)
    there = document.data["visit"][index].get(kind, [])
    at = next((i for i, one in enumerate(there) if one.get("id") == key), None)
    return ("visit", index, kind, at, name) if at is not None else ("visit", index, kind, len(there), key, name)


def _visit_of(record: JobRecord, key: str, field: Field, newest: int | None) -> int | None:
    """The visit that tells a word now, else the newest."""
    if field.form == "word":
        return next((visit.index for visit in found_visits(record) if field.name in visit.words), newest)
    return newest


def _item(document: Document, kind: str, key: str) -> Path:
    index = next(i for i, one in enumerate(document.data[kind]) if one["id"] == key)
    return (kind, index)


def on_grid(edit: Edit, steps: int) -> float:
    """The number that lies so many of the unit's last decimals from where it was."""
    decimals = UNITS[edit.unit].decimals
    start = edit.before if isinstance(edit.before, float) else float(edit.after)
    return round(start + steps * 10.0**-decimals, decimals)
