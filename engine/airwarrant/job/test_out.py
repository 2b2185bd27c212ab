"""The readings of a test-out, in a file of their own, put to the record that the work was decided from."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from airwarrant.errors import Fault, RecordError, nearest
from airwarrant.job.reading_records import job_document, record_of
from airwarrant.job.record import JobRecord
from airwarrant.job.single_values import show
from airwarrant.source.document import Document
from airwarrant.source.place import Place
from airwarrant.source.syntax import Path

FORMAT = "airwarrant/test-out/1"
KIND, UNIT = "test-out", "new"
#: Keys of the file's head; a visit and an instrument are blocks as a record has them.
HEAD = ("format", "job", "units", "demo", "note", "instrument", "visit")
_VISIT = re.compile(r"^(visit|instrument)\[(\d+)\]")


def with_test_out(record: Document, text: bytes, file: str) -> JobRecord:
    """Return the record with the visits of a test-out file added.

    Parameters
    ----------
    record : Document
        The record's own text, sound.
    text : bytes
        The test-out file.
    file : str
        Its name; the ending says whether it is TOML or JSON.

    Raises
    ------
    RecordError
        With every fault of the file, each at its place there.
    """
    out = job_document(text, file)
    faults = list(_head_faults(record, out))
    if not all(isinstance(out.data.get(name, []), list) for name in ("visit", "instrument")):
        raise RecordError(faults)
    before = {name: len(record.data.get(name, [])) for name in ("visit", "instrument")}
    try:
        made = record_of(_together(record, out, before))
    except RecordError as error:
        raise RecordError([*faults, *(_at_home(fault, before) for fault in error.faults)]) from None
    if faults:
        raise RecordError(faults)
    return made


def _together(record: Document, out: Document, before: Mapping[str, int]) -> Document:
    """One document of both; every value keeps its place in its own file."""
    data: dict[str, Any] = dict(record.data)
    for name in before:
        data[name] = [*record.data.get(name, []), *out.data.get(name, [])]

    def moved(places: Mapping[Path, Place]) -> dict[Path, Place]:
        return {
            (path[0], before[str(path[0])] + int(path[1]), *path[2:]): place
            for path, place in places.items()
            if len(path) > 1 and path[0] in before
        }

    return Document(
        record.file,
        data,
        {**record.places, **moved(out.places)},
        {**record.key_places, **moved(out.key_places)},
    )


def _at_home(fault: Fault, before: Mapping[str, int]) -> Fault:
    """The fault with its field counted as its own file counts."""

    def back(found: re.Match[str]) -> str:
        return f"{found[1]}[{int(found[2]) - before[found[1]]}]"

    return replace(fault, field=_VISIT.sub(back, fault.field))


def _head_faults(record: Document, out: Document) -> Iterator[Fault]:
    data = out.data
    for name in data:
        if name not in HEAD:
            advice = nearest(name, HEAD) or "What the house is like belongs in the job record."
            yield _fault(out, (name,), "unknown-key", f"`{name}` is not a key of this file", ", ".join(HEAD), advice)
    if data.get("format") != FORMAT:
        yield _fault(out, ("format",), "not-a-test-out", show(data.get("format")), f'"{FORMAT}"')
    if data.get("job") != record.data["id"]:
        yield _fault(
            out,
            ("job",),
            "other-job",
            show(data.get("job")),
            show(record.data["id"]),
            "These are readings of another house.",
        )
    if data.get("units") != record.data["units"]:
        found, allowed = show(data.get("units")), f"{show(record.data['units'])}, as the record has them"
        yield _fault(out, ("units",), "other-units", found, allowed)
    visits = data.get("visit")
    if not isinstance(visits, list) or not visits:
        yield _fault(out, ("visit",), "no-visit", "there is no visit", "one [[visit]] block with the readings")
        return
    for index, visit in enumerate(visits):
        if isinstance(visit, dict):
            yield from _visit_faults(out, index, visit)


def _visit_faults(out: Document, index: int, visit: Mapping[str, Any]) -> Iterator[Fault]:
    field = f"visit[{index}]"
    for name, must in (("kind", KIND), ("unit", UNIT)):
        if name in visit and visit[name] != must:
            place = out.place(("visit", index, name))
            yield Fault("not-a-test-out", show(visit[name]), f'"{must}"', place, f"{field}.{name}")
    if "date" not in visit:
        place = out.place(("visit", index))
        yield Fault("missing-key", "`date` is missing", "the day of the readings", place, field)


def _fault(out: Document, path: Path, code: str, found: str, allowed: str, advice: str = "") -> Fault:
    return Fault(code, found, allowed, out.key_place(path), ".".join(map(str, path)), advice)
