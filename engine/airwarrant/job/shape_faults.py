"""What the shape refuses, in our own words: each fault with its place, its field and what may stand there."""

from collections.abc import Iterator
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from airwarrant.errors import Fault, nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, Field
from airwarrant.job.digest import FORMAT
from airwarrant.job.field_paths import dotted
from airwarrant.job.shape import known_keys
from airwarrant.job.single_values import show
from airwarrant.source.document import Document
from airwarrant.source.syntax import Path

_BLOCKS = {
    "house": "[house]",
    "old": "[old]",
    "new": "[new]",
    "old-blower": "[old.blower]",
    "new-blower": "[new.blower]",
}
_KEYS_SHOWN = 14


def shape_faults(error: ValidationError, document: Document, system: str, ranges: bool) -> Iterator[Fault]:
    """Yield a fault for everything pydantic found; without `ranges` (units unknown), none for a number's range."""
    for details in error.errors(include_url=False):
        if ranges or details["type"] != "out-of-range":
            yield _fault(details, document, system)


def _fault(details: ErrorDetails, document: Document, system: str) -> Fault:
    path: Path = details["loc"]
    field, place, found = dotted(document.data, path), document.place(path), show(details["input"])
    match details["type"]:
        case "extra_forbidden":
            return _unknown_key(path, document, system)
        case "missing" if isinstance(path[-1], int):
            return Fault("wrong-form", "a row of one number", "a static and a flow", place, field)
        case "missing":
            around = dotted(document.data, path[:-1])
            found = f"`{path[-1]}` is missing" + (f" in `{around}`" if around else "")
            return Fault("missing-key", found, _needed(path, system), document.place(path[:-1]), field)
        case "model_type" | "dict_type":
            return Fault("not-a-block", found, "a block of keys", place, field)
        case "list_type" | "tuple_type":
            name = str(path[-1])
            allowed = "a list of rows" if name == "table" or isinstance(path[-1], int) else f"one [[{name}]] block each"
            return Fault("not-a-list", found, allowed, place, field)
        case "too_short":
            return Fault("too-few", "fewer than two rows", "a table of two rows or more", place, field)
        case "too_long":
            return Fault("wrong-form", "a row of more than two numbers", "a static and a flow", place, field)
        case code:
            own = details.get("ctx", {})
            advice = own.get("advice", "")
            if path == ("format",):
                advice = f'This program reads records that begin with format = "{FORMAT}"'
            return Fault(code, own.get("found", found), own.get("allowed", ""), place, field, advice)


def _needed(path: Path, system: str) -> str:
    if path == ("format",):
        return f'format = "{FORMAT}"'
    if path == ("units",):
        return 'units = "ip" or units = "si"'
    return "a value" if path[-1] not in known_keys(system, ()) else "the key at the head of the record"


def _unknown_key(path: Path, document: Document, system: str) -> Fault:
    name, known = str(path[-1]), known_keys(system, path[:-1])
    kinds = [part for part in path[:-1] if isinstance(part, str) and part in KINDS] or [HOUSE_KEY]
    advice = _belongs(name, kinds[-1]) or nearest(name, known)
    allowed = (
        ", ".join(known)
        if len(known) <= _KEYS_SHOWN
        else f"one of its {len(known)} keys: see `airwarrant policy words`"
    )
    field, place = dotted(document.data, path), document.key_place(path)
    return Fault("unknown-key", f"`{show(name)[1:-1]}` is not a key of this block", allowed, place, field, advice)


def _belongs(name: str, kind: str) -> str:
    """Say where a key of the dictionary belongs; the kind of the block it was found in is asked first."""
    for owner in (KINDS[kind], *KINDS.values()):
        for field in owner.fields.values():
            if (field.key or field.name) == name:
                return f"`{name}` {_where(owner.name, field)}"
    return ""


def _where(kind: str, field: Field) -> str:
    if field.section == "derived":
        return "is worked out by the program: leave it out"
    if field.timed:
        return "belongs in [old] or [new]"
    if field.section == "visit":
        return "belongs in the head of a [[visit]]" if kind == HOUSE_KEY else f"belongs in [[visit.{kind}]]"
    return f"belongs in {_BLOCKS.get(field.section, f'[[{kind}]]')}"


def head(data: dict[str, Any], key: str) -> str:
    """Value of a key at the head of the record if it is text."""
    value = data.get(key)
    return value if isinstance(value, str) else ""
