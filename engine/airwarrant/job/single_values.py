"""Types of the record's single values: each checks, refuses in our own words and knows its JSON Schema."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any, LiteralString, NoReturn

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from airwarrant.errors import nearest

LONGEST_TEXT = 2000
KEY_PATTERN = "[a-z0-9][a-z0-9-]{0,39}"
NAME_PATTERN = "[A-Za-z0-9][A-Za-z0-9._-]{0,39}"
LINE_PATTERN = f"[a-z0-9-]+@{KEY_PATTERN}"
_DAY = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}")
_CLOCK = re.compile("([01][0-9]|2[0-3]):[0-5][0-9]")
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")


@dataclass(frozen=True, slots=True)
class SingleValue:
    """A value that `check` reads from the parsed file; to be put into ``Annotated``."""

    check: Callable[[Any], Any]
    schema: dict[str, Any] = field(hash=False)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.check)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return dict(self.schema)


def refuse(code: LiteralString, found: str, allowed: str, advice: str = "") -> NoReturn:
    """Refuse a value; `shape_faults` makes a fault of it."""
    raise PydanticCustomError(code, "{found}", {"found": found, "allowed": allowed, "advice": advice})


def number(low: float | None, high: float | None, unit: str, advice_above: str = "") -> SingleValue:
    """A number between `low` and `high` in `unit`; `advice_above` is for one that is too large."""
    allowed = _range(low, high, unit)

    def check(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            advice = "Write the number without quotes" if isinstance(value, str) and _is_number(value) else ""
            refuse("not-a-number", show(value), allowed, advice)
        if low is not None and value < low:
            refuse("out-of-range", f"{show(value)} {unit}".rstrip(), allowed)
        if high is not None and value > high:
            refuse("out-of-range", f"{show(value)} {unit}".rstrip(), allowed, advice_above)
        return float(value)

    bounds = {"minimum": low, "maximum": high}
    return SingleValue(check, {"type": "number", **{k: v for k, v in bounds.items() if v is not None}})


def word(words: tuple[str, ...]) -> SingleValue:
    """One of a closed list of words."""
    allowed = ", ".join(f'"{w}"' for w in words)

    def check(value: Any) -> str:
        if isinstance(value, str) and value in words:
            return value
        advice = nearest(value.lower().strip().replace(" ", "-"), words) if isinstance(value, str) else ""
        if isinstance(value, bool) and {"yes", "no"} <= set(words):
            advice = f'Write "{"yes" if value else "no"}"'
        refuse("unknown-word", show(value), allowed, advice)

    return SingleValue(check, {"type": "string", "enum": list(words)})


def pattern(regex: str, allowed: str, longest: int = 200) -> SingleValue:
    """Text that matches `regex` from end to end."""
    compiled = re.compile(regex)

    def check(value: Any) -> str:
        if not isinstance(value, str) or len(value) > longest or not compiled.fullmatch(value):
            advice = "Write it in quotes" if isinstance(value, int | float) else ""
            refuse("wrong-form", show(value), allowed, advice)
        return value

    return SingleValue(check, {"type": "string", "pattern": f"^(?:{regex})$", "maxLength": longest})


def _text(value: Any) -> str:
    if not isinstance(value, str):
        refuse("not-text", show(value), "text in quotes")
    if not value.strip():
        refuse("empty-text", '""', "text that is not empty", "Leave the key out if there is nothing to say")
    if len(value) > LONGEST_TEXT:
        refuse("too-long", f"{len(value)} characters", f"at most {LONGEST_TEXT} characters")
    if _CONTROL.search(value):
        refuse("bad-text", "a control character", "printable text")
    return value


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        advice = f"Write {value.lower()} without quotes" if value in ("true", "false", "True", "False") else ""
        refuse("not-a-flag", show(value), "true, false", advice)
    return value


def _day(value: Any) -> date:
    allowed = "a day such as 2026-07-14"
    if isinstance(value, datetime):
        refuse("not-a-date", show(value), allowed, "Leave the time of day out")
    if isinstance(value, date):
        return value
    if not isinstance(value, str) or not _DAY.fullmatch(value):
        refuse("not-a-date", show(value), allowed)
    try:
        return date.fromisoformat(value)
    except ValueError:
        refuse("not-a-date", show(value), allowed, "The calendar has no such day")


def _clock(value: Any) -> str:
    if isinstance(value, time):
        return value.strftime("%H:%M")
    if not isinstance(value, str) or not _CLOCK.fullmatch(value):
        refuse("wrong-form", show(value), 'a time of day such as "10:40"')
    return value


TEXT = SingleValue(_text, {"type": "string", "minLength": 1, "maxLength": LONGEST_TEXT, "pattern": "\\S"})
FLAG = SingleValue(_flag, {"type": "boolean"})
DAY = SingleValue(_day, {"type": "string", "format": "date", "pattern": f"^{_DAY.pattern}$"})
CLOCK = SingleValue(_clock, {"type": "string", "pattern": f"^{_CLOCK.pattern}$"})
KEY = pattern(KEY_PATTERN, "small letters, digits and hyphens, at most 40, such as bed-2")
NAME = pattern(NAME_PATTERN, "letters, digits, points and hyphens, at most 40")
LINE = pattern(LINE_PATTERN, "a task and a place, such as add-return@living-route")


def show(value: Any) -> str:
    """A value as its file would write it, short enough for a message."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if value is None:
        return "null"
    if isinstance(value, str):
        text = "".join(c if c.isprintable() else "\ufffd" for c in value)
        return f'"{text}"' if len(text) <= 60 else f'"{text[:57]}…"'
    return str(value)


def _range(low: float | None, high: float | None, unit: str) -> str:
    if low is None and high is None:
        text = "a number"
    elif high is None:
        text = f"{low:g} or more"
    else:
        text = f"{low:g} to {high:g}"
    return f"{text} {unit}".rstrip()


def _is_number(text: str) -> bool:
    return re.fullmatch(r"\s*[+-]?[0-9]+([.,][0-9]+)?\s*", text) is not None
