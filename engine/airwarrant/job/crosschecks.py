"""What one field cannot show alone: ids that are written twice or lead nowhere, tables that rise, half a choice.

The checks look at the data as it was read, sound or not, so that one report holds these faults and those of the shape.
"""

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from airwarrant.errors import Fault, nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.field_paths import dotted
from airwarrant.job.shape import ITEM_KINDS
from airwarrant.job.single_values import show
from airwarrant.source.document import Document
from airwarrant.source.syntax import Path


def cross_faults(document: Document) -> Iterator[Fault]:
    """Yield every fault between fields of a record."""
    ids = _ids(document.data)
    yield from _twice(document)
    yield from _links(document, ids)
    yield from _visit_items(document, ids)
    yield from _instruments(document)
    yield from _lines(document, ids)
    yield from _choices(document)
    for unit in ("old", "new"):
        yield from _settings(document, unit)


def _blocks(data: Any, *names: str) -> Iterator[tuple[Path, dict[str, Any]]]:
    """Yield the blocks of a list such as ``visit`` or, at a path, ``visit[0].room``; nothing if there is none."""
    here: Any = data
    for name in names:
        here = here.get(name) if isinstance(here, dict) else None
    if isinstance(here, list):
        for index, block in enumerate(here):
            if isinstance(block, dict):
                yield (*names, index), block


def _ids(data: dict[str, Any]) -> dict[str, str]:
    """Map each item's id to its kind."""
    found: dict[str, str] = {}
    for kind in ITEM_KINDS:
        for _, block in _blocks(data, kind):
            if isinstance(block.get("id"), str):
                found.setdefault(block["id"], kind)
    return found


def _fault(document: Document, path: Path, code: str, found: str, allowed: str = "", advice: str = "") -> Fault:
    return Fault(code, found, allowed, document.place(path), dotted(document.data, path), advice)


def _twice(document: Document) -> Iterator[Fault]:
    first: dict[str, Path] = {}
    places = [
        (document.place(path), path, block)
        for kind in (*ITEM_KINDS, "instrument")
        for path, block in _blocks(document.data, kind)
    ]
    for _, path, block in sorted(places, key=lambda entry: entry[0]):
        key = block.get("id")
        if not isinstance(key, str):
            continue
        if key == HOUSE_KEY:
            yield _fault(
                document, (*path, "id"), "duplicate-id", '"house"', "any other name", "The house itself has this id"
            )
        elif key in first:
            advice = f"The first one, a {first[key][0]}, stands at {document.place((*first[key], 'id'))}"
            yield _fault(document, (*path, "id"), "duplicate-id", show(key), "each id once in the whole record", advice)
        else:
            first[key] = path


def _links(document: Document, ids: dict[str, str]) -> Iterator[Fault]:
    for kind in ITEM_KINDS:
        for field in KINDS[kind].fields.values():
            if field.form == "link":
                name = field.key or field.name
                for path, block in _blocks(document.data, kind):
                    if isinstance(block.get(name), str):
                        yield from _names(document, (*path, name), block[name], field.kind, ids)


def _names(document: Document, path: Path, key: str, kind: str, ids: dict[str, str]) -> Iterator[Fault]:
    """A fault if `key` is not the id of an item of `kind`."""
    actual = ids.get(key)
    if actual == kind:
        return
    found = f"{show(key)} is one of [[{actual}]]" if actual else f"no [[{kind}]] has the id {show(key)}"
    known = [k for k, v in ids.items() if v == kind]
    allowed = ", ".join(sorted(known)[:12]) or f"the id of a [[{kind}]], of which there is none"
    yield _fault(document, path, "wrong-kind" if actual else "unknown-id", found, allowed, nearest(key, known))


def _visit_items(document: Document, ids: dict[str, str]) -> Iterator[Fault]:
    for visit_path, visit in _blocks(document.data, "visit"):
        for kind in ITEM_KINDS:
            seen: dict[str, Path] = {}
            for inner, block in _blocks(visit, kind):
                key, path = block.get("id"), (*visit_path, *inner, "id")
                if not isinstance(key, str):
                    continue
                yield from _names(document, path, key, kind, ids)
                if key in seen:
                    advice = f"The first one stands at {document.place(seen[key])}; put the readings into one block"
                    yield _fault(document, path, "duplicate-id", show(key), "each item once a visit", advice)
                seen.setdefault(key, path)


def _instruments(document: Document) -> Iterator[Fault]:
    known = [block["id"] for _, block in _blocks(document.data, "instrument") if isinstance(block.get("id"), str)]
    if not known:
        return  # the list of instruments is optional; without it their names stand alone
    for path, visit in _blocks(document.data, "visit"):
        readings = [(path, visit)]
        readings += [((*path, *inner), block) for kind in ITEM_KINDS for inner, block in _blocks(visit, kind)]
        for where, block in readings:
            for name, value in block.items():
                used = value.get("instrument") if isinstance(value, dict) else None
                if isinstance(used, str) and used not in known:
                    found = f"no [[instrument]] has the id {show(used)}"
                    allowed = ", ".join(sorted(known)[:12])
                    yield _fault(
                        document, (*where, name, "instrument"), "unknown-id", found, allowed, nearest(used, known)
                    )


def _lines(document: Document, ids: dict[str, str]) -> Iterator[Fault]:
    for name in ("override", "choice"):
        for path, block in _blocks(document.data, name):
            line = block.get("line")
            place = line.partition("@")[2] if isinstance(line, str) else ""
            if place and place != HOUSE_KEY and place not in ids:
                found = f"nothing in this record has the id {show(place)}"
                advice = nearest(place, (*ids, HOUSE_KEY))
                yield _fault(document, (*path, "line"), "unknown-id", found, "a task and the id of its place", advice)


def _choices(document: Document) -> Iterator[Fault]:
    for path, block in _blocks(document.data, "choice"):
        option, line = {"option", "accepted"} & block.keys(), {"line", "decision"} & block.keys()
        if len(option) == 1 or len(line) == 1 or bool(option) == bool(line):
            found = f"a choice with {', '.join(sorted(option | line)) or 'none of its keys'}"
            yield _fault(document, path, "half-choice", found, "option and accepted, or line and decision")


def _settings(document: Document, unit: str) -> Iterator[Fault]:
    first: dict[str, Path] = {}
    for path, setting in _blocks(document.data, unit, "blower", "setting"):
        name = setting.get("name")
        if isinstance(name, str):
            if name in first:
                advice = f"The first one stands at {document.place(first[name])}"
                yield _fault(document, (*path, "name"), "duplicate-name", show(name), "each setting once", advice)
            first.setdefault(name, (*path, "name"))
        yield from _table(document, (*path, "table"), setting.get("table"))
        table, power = setting.get("table"), setting.get("power")
        if isinstance(table, list) and isinstance(power, list) and power and len(power) != len(table):
            found = f"{len(power)} powers for {len(table)} rows"
            yield _fault(document, (*path, "power"), "uneven-rows", found, "one power for each row of the table")


def _table(document: Document, path: Path, table: Any) -> Iterator[Fault]:
    rows = [(i, row) for i, row in enumerate(table) if _is_row(row)] if isinstance(table, list) else []
    for (_, before), (index, row) in pairwise(rows):
        if row[0] <= before[0]:
            found = f"static {row[0]:g} after {before[0]:g}"
            yield _fault(document, (*path, index, 0), "not-rising", found, "each row's static above the one before")
        elif row[1] > before[1]:
            found = f"flow {row[1]:g} after {before[1]:g}"
            allowed = "flow that never rises with the static"
            advice = "Look again at the maker's table; a blower may hold its flow over several rows."
            yield _fault(document, (*path, index, 1), "not-falling", found, allowed, advice)


def _is_row(row: Any) -> bool:
    return isinstance(row, list) and len(row) == 2 and all(isinstance(n, int | float) for n in row)
