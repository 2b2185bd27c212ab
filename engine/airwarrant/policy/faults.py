"""What a policy file's shape gets wrong, in plain words: no validator's own text reaches an owner."""

import re
from collections.abc import Iterable, Mapping, Sequence
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, Tag, ValidationError

from airwarrant.counted import counted
from airwarrant.errors import Fault, nearest
from airwarrant.policy.rule_shape import CLAUSE_HEADS, ID, NAME, THEN_HEADS
from airwarrant.source.document import Document

Path = tuple[str | int, ...]

_WANTED = {
    "string_type": "text in quotes",
    "float_type": "a number",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "list_type": "a list in [ ]",
    "dict_type": "a block of keys",
    "model_type": "a block of keys",
    "model_attributes_type": "a block of keys",
    "date_type": "a date such as 2026-01-31, without quotes or time of day",
    "date_from_datetime_inexact": "a date such as 2026-01-31, without quotes or time of day",
}
_LENGTHS = {
    "too_short": "too-short",
    "too_long": "too-long",
    "string_too_short": "too-short",
    "string_too_long": "too-long",
}
_PATTERNS = {
    NAME: "a small letter, then small letters, digits and _, at most 61 in all",
    ID: "a small letter, then small letters, digits, . and -, at most 61 in all",
}
_NUMBER_TEXT = re.compile(r"\s*-?\d+(?:[.,]\d+)?\s*%?\s*")


class Faults(list[Fault]):
    """Every fault found so far, in the order of finding."""

    def note(self, code: str, found: str, allowed: str = "", *, place: Any = None, advice: str = "") -> None:
        self.append(Fault(code, found, allowed, place, "", advice))


def shape_faults(error: ValidationError, document: Document, model: type[BaseModel]) -> list[tuple[Path, Fault]]:
    """Turn a validation error into faults, each with the path of what it speaks of in the file's data."""
    out = []
    for item in error.errors(include_url=False, include_context=True):
        path, on_key = _data_path(item["loc"], document.data)
        place = document.key_place(path) if on_key or item["type"] == "extra_forbidden" else document.place(path)
        code, found, allowed, advice = _words(item, path, model, document.data)
        out.append((path, Fault(code, found, allowed, place, spoken_path(path, document.data), advice)))
    return out


def spoken_path(path: Sequence[str | int], data: Any) -> str:
    """Write a path as an owner reads it: ``rule[find.elbow].when[0].is``."""
    text = ""
    for part in path:
        inner = _step(data, part)
        if isinstance(part, int):
            name = inner.get("id") if isinstance(inner, dict) else None
            text += f"[{name if isinstance(name, str) else part}]"
        else:
            text += f".{part}" if text else str(part)
        data = inner
    return text


def shown(value: Any) -> str:
    """Show a value the way TOML writes it, cut to a readable length."""
    match value:
        case bool():
            text = "true" if value else "false"
        case str():
            text = f'"{value}"'
        case float():
            text = f"{value:g}"
        case dict():
            text = "{ " + ", ".join(f"{k} = …" for k in value) + " }"
        case list():
            text = "[" + ", ".join(shown(v) for v in value[:4]) + (", …]" if len(value) > 4 else "]")
        case _:
            text = str(value)
    return text if len(text) <= 80 else text[:77] + "…"


def words(items: Iterable[str]) -> str:
    """Join words for a message."""
    return ", ".join(items)


def _words(item: Mapping[str, Any], path: Path, model: type[BaseModel], data: Any) -> tuple[str, str, str, str]:
    kind, value, context = item["type"], item["input"], item.get("ctx") or {}
    last = str(path[-1]) if path else ""
    if kind == "extra_forbidden":
        keys = allowed_keys(model, item["loc"][:-1])
        advice = nearest(last, keys)
        if path[0] == "said" and isinstance(value, dict):
            advice = 'An id with a point stands in quotes: [said."find.elbow"].'
        return "unknown-key", f"there is no key `{last}` here", words(keys), advice
    if kind == "missing":
        return "missing-key", f"the key `{last}` is missing", _choices(model, item["loc"]), "Add it."
    if kind == "literal_error":
        choices = re.findall(r"'([^']*)'", str(context.get("expected", "")))
        return "unknown-word", shown(value), words(choices), nearest(str(value), choices)
    if kind in _WANTED:
        return "wrong-type", shown(value), _WANTED[kind], _type_advice(kind, value)
    if kind == "union_tag_not_found":
        return _no_head(path, value)
    if kind == "string_pattern_mismatch":
        return _bad_name(str(context.get("pattern")), value)
    if kind in ("too_short", "too_long"):
        return _LENGTHS[kind], counted(context.get("actual_length", 0), "entry", "entries"), _length(kind, context), ""
    if kind in ("string_too_short", "string_too_long"):
        found = f"{len(str(value))} characters: {shown(value)}"
        return _LENGTHS[kind], found, f"{_length(kind, context)} characters", ""
    if kind == "finite_number":
        return "not-finite", shown(value), "a finite number", ""
    return "not-allowed", shown(value), "", "Look at the same key in a shipped file."


def _choices(model: type[BaseModel], loc: Sequence[str | int]) -> str:
    """What a missing key may say, where only a few words may."""
    here: Any = model
    for part in loc:
        here = _inner(here, part)
    here = _bare(here)
    return words(map(str, get_args(here))) if get_origin(here) is Literal else ""


def _length(kind: str, context: Mapping[str, Any]) -> str:
    side = "at most" if kind.endswith("too_long") else "at least"
    return f"{side} {context.get('max_length', context.get('min_length'))}"


def _type_advice(kind: str, value: Any) -> str:
    if kind == "float_type" and isinstance(value, str) and _NUMBER_TEXT.fullmatch(value):
        return "Write the number without quotes, with a decimal point."
    if kind == "list_type" and not isinstance(value, dict):
        return "Put it in square brackets."
    if kind == "date_type" and isinstance(value, str):
        return "Leave the quotes away."
    return ""


def _no_head(path: Path, value: Any) -> tuple[str, str, str, str]:
    heads = THEN_HEADS if "then" in path else CLAUSE_HEADS
    if not isinstance(value, dict):
        return "wrong-type", shown(value), "a block in { }", ""
    close = next((advice for key in value if (advice := nearest(str(key), heads))), "")
    what = "conclusion" if "then" in path else "clause"
    return "unknown-form", f"{shown(value)} is no {what}", f"one with the key {words(heads)}", close


def _bad_name(pattern: str, value: Any) -> tuple[str, str, str, str]:
    if "codes" in pattern:
        return (
            "bad-layer",
            shown(value),
            "`trade`, or `codes/`, `regions/` or `companies/` and a plain name of small letters, digits and -",
            "A path never leaves the policies folder." if ".." in str(value) or str(value).startswith("/") else "",
        )
    if pattern.startswith("^(parameter"):
        return "bad-name", shown(value), "such as rule:find.elbow, check:draft or parameter:static_ceiling", ""
    return "bad-name", shown(value), _PATTERNS.get(pattern, "a plain name"), ""


def _data_path(loc: Sequence[str | int], data: Any) -> tuple[Path, bool]:
    """Drop what is not in the data: the tags of alternatives and the mark of a key."""
    path: list[str | int] = []
    for part in loc:
        if part == "[key]":
            return tuple(path), True
        if isinstance(part, str) and part.startswith("<") and part.endswith(">"):
            continue
        path.append(part)
    return tuple(path), False


def _step(data: Any, part: str | int) -> Any:
    if isinstance(data, dict):
        return data.get(part)
    if isinstance(data, list) and isinstance(part, int) and 0 <= part < len(data):
        return data[part]
    return None


def allowed_keys(model: type[BaseModel], loc: Sequence[str | int]) -> tuple[str, ...]:
    """Return the keys that the shape allows at a location of a validation error."""
    here: Any = model
    for part in loc:
        here = _inner(here, part)
    here = _bare(here)
    if isinstance(here, type) and issubclass(here, BaseModel):
        return tuple(field.alias or name for name, field in here.model_fields.items())
    return ()


def _inner(here: Any, part: str | int) -> Any:
    tagged = isinstance(part, str) and part.startswith("<")
    here = _bare(here, keep_union=tagged)
    if isinstance(here, type) and issubclass(here, BaseModel):
        return next((f.annotation for n, f in here.model_fields.items() if part in (n, f.alias)), None)
    origin, args = get_origin(here), get_args(here)
    if origin is list:
        return args[0]
    if origin is dict:
        return args[1]
    if origin in (Union, UnionType) and tagged:
        return next((a for a in args if any(isinstance(m, Tag) and m.tag == part for m in get_args(a)[1:])), None)
    return None


def _bare(here: Any, keep_union: bool = False) -> Any:
    """Strip annotations and the alternative `None` of an optional key."""
    while True:
        if get_origin(here) is Annotated:
            here = get_args(here)[0]
            continue
        real = [a for a in get_args(here) if a is not NoneType]
        if get_origin(here) in (Union, UnionType) and len(real) == 1:
            here = real[0]
            continue
        return here
