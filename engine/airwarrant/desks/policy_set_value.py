"""The value an owner types for a policy value: a number in the value's own unit, a quantity in another, or a word."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from airwarrant.errors import CallError, Fault, nearest
from airwarrant.policy.faults import words
from airwarrant.units import UNITS, convert, same_dimension

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
_QUANTITY = re.compile(rf"(?P<number>{_NUMBER.pattern})\s*(?P<unit>\S.*)")
_COMMA = re.compile(r"[+-]?\d*,\d+(\s.*)?")
_FAR = 1e12
_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Typed:
    """A value as it is written into policy; `said` is set where it was typed in another unit."""

    value: int | float | str
    said: str = ""


def typed_value(text: str, unit: str, what: str) -> Typed:
    """Read a typed value for a policy value in `unit`; an empty unit takes a bare number only.

    Raises
    ------
    CallError
        ``not-a-number``, ``unknown-unit`` or ``unit-mismatch``.
    """
    text = text.strip()
    if unit == "word":
        if not text:
            raise CallError([Fault("not-a-word", f"{what} is given nothing", "a word")])
        return Typed(text)
    if _COMMA.fullmatch(text):
        advice = f"Did you mean `{text.replace(',', '.', 1)}`?"
        raise CallError([Fault("not-a-number", f"`{text}` for {what}", "a decimal point, no comma", advice=advice)])
    if _NUMBER.fullmatch(text):
        return Typed(_number(text, what))
    match = _QUANTITY.fullmatch(text)
    if not match:
        allowed = f"a number in {unit}, such as `12`, or one with its unit" if unit else "a number"
        raise CallError([Fault("not-a-number", f"`{text}` for {what}", allowed)])
    number, given = _number(match["number"], what), match["unit"]
    if not unit:
        raise CallError([Fault("unit-mismatch", f"`{text}` for {what}", "a number without a unit")])
    if given not in UNITS:
        fit = [name for name in UNITS if unit in UNITS and same_dimension(name, unit)]
        found = f"there is no unit `{given}` for {what}"
        raise CallError([Fault("unknown-unit", found, words(fit), advice=nearest(given, UNITS))])
    if not same_dimension(given, unit):
        found = f"`{text}` is a {UNITS[given].dimension}; {what} is a {UNITS[unit].dimension}"
        fit = [name for name in UNITS if same_dimension(name, unit)]
        raise CallError([Fault("unit-mismatch", found, words(fit))])
    if given == unit:
        return Typed(number)
    turned = float(f"{convert(number, given, unit):.{_DIGITS}g}")
    whole = int(turned) if turned == int(turned) else turned
    return Typed(whole, f"{match['number']} {given} is written as {whole:g} {unit}")


def row_named(text: str, keys: Sequence[float | str], by_unit: str, what: str) -> int:
    """Return the position of the row with a key.

    Raises
    ------
    CallError
        ``unknown-row``, with the keys there are; else as `typed_value`.
    """
    numbers = all(not isinstance(key, str) for key in keys)
    wanted: float | str = typed_value(text, by_unit, f"the row of {what}").value if numbers else text.strip()
    for index, key in enumerate(keys):
        if key == wanted or (
            not isinstance(key, str) and not isinstance(wanted, str) and math.isclose(key, wanted, rel_tol=1e-5)
        ):
            return index
    known = [key if isinstance(key, str) else f"{key:g}" for key in keys]
    unit = f" {by_unit}" if numbers and by_unit else ""
    found = f"{what} has no row `{text}`"
    raise CallError([Fault("unknown-row", found, words(f"{key}{unit}" for key in known), advice=nearest(text, known))])


def _number(text: str, what: str) -> int | float:
    value = float(text)
    if not math.isfinite(value) or abs(value) > _FAR:
        raise CallError([Fault("not-a-number", f"`{text}` for {what}", "a number of ordinary size")])
    return int(text) if re.fullmatch(r"[+-]?\d+", text) else value
