"""Numbers as people read them: a range no finer than it is known, money with its thousands, minutes as a clock."""

import re
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from math import floor, log10

from airwarrant.units import fixed

#: A unit after its number, as the result writes it and as print has it.
_SIGNS = tuple(
    (re.compile(pattern), sign)
    for pattern, sign in (
        (r"(?<=\d)\.0+(?=[ \N{NO-BREAK SPACE}]F\b)", ""),
        (r"(?<=\d)([ \N{NO-BREAK SPACE}])F(?: diff)?\b", r"\1°F"),
        (r"(?<=\d)([ \N{NO-BREAK SPACE}])(in|ft|cfm/in)2\b", r"\1\2²"),
        (r"(?<=\d)\.0+(?=[ \N{NO-BREAK SPACE}]in(?![.\w]))", ""),
    )
)
#: Units that print has a sign for.
_PRINTED = {"F": "°F", "F diff": "°F", "in2": "in²", "ft2": "ft²", "cfm/in2": "cfm/in²"}
#: Steps in which a number that was worked out, and has no range beside it, is told.
_KNOWN_TO = {"cfm": Decimal(10), "in. w.c.": Decimal("0.02")}
_DASH, _MINUS = "\N{EN DASH}", "\N{MINUS SIGN}"


def amount(value: float, unit: str) -> str:
    """Return ``0.86 in. w.c.``: the number at its unit's decimals; a year as it is written."""
    if unit == "year":
        return fixed(value, unit)
    return f"{plain(fixed(value, unit))} {printed(unit)}" if unit != "1" else plain(fixed(value, unit))


def printed(unit: str) -> str:
    """Return a unit as print has it: ``in²``, ``°F`` of a temperature and of a difference."""
    return _PRINTED.get(unit, unit)


def typeset(text: str) -> str:
    """Return a text of the result with its numbers as print has them: ``in²``, ``°F`` of a difference, whole inches whole."""
    for pattern, sign in _SIGNS:
        text = pattern.sub(sign, text)
    return text


def signed(value: float, unit: str, *, bare: bool = False) -> str:
    """Return a change with its sign, ``+120 cfm``; without its unit where `bare`."""
    return ("+" if value > 0 else "") + (plain(fixed(value, unit)) if bare else amount(value, unit))


def plain(text: str) -> str:
    """Return a decimal text with thousands apart and a true minus."""
    negative, digits = text.startswith("-"), text.lstrip("-")
    whole, point, rest = digits.partition(".")
    return (_MINUS if negative else "") + f"{int(whole):,}" + point + rest


def span(low: float, high: float, unit: str, *, bare: bool = False, to: str = "to") -> str:
    """Return a range rounded outward to the second digit of its width, and no finer than its unit; without the unit where `bare`.

    What lies between its ends is all that is known. `to` is the word between them where one is negative.
    """
    low, high = min(low, high), max(low, high)
    width = high - low
    if width <= 0.0:
        return plain(fixed(low, unit)) if bare else amount(low, unit)
    finest = Decimal(fixed(0.0, unit)).as_tuple().exponent
    step = Decimal(1).scaleb(max(floor(log10(width)) - 1, int(finest)))
    ends = [
        (Decimal(repr(end)) / step).to_integral_value(way) * step
        for end, way in ((low, ROUND_FLOOR), (high, ROUND_CEILING))
    ]
    shown = f"{_shown(ends[0], step)}{_to(ends, to)}{_shown(ends[1], step)}"
    return shown if bare or unit == "1" else f"{shown} {printed(unit)}"


def about(value: float, unit: str) -> str:
    """Return a worked-out number no finer than it is known: flows in tens, pressures in 0.02 in. w.c.

    Where they are small, half of that.
    """
    step = _KNOWN_TO.get(unit)
    if step is None:
        return amount(value, unit)
    step = step / 2 if abs(value) < 5 * step else step
    near = round(Decimal(repr(value)) / step) * step
    return f"{_shown(near, step)} {unit}"


def money(text: str | None) -> str:
    """Return an amount of the result with thousands apart; whole amounts without decimals."""
    if text is None:
        return ""
    value = Decimal(text)
    return plain(format(value.quantize(Decimal(1)) if value == value.to_integral_value() else value, "f"))


def clock(minutes: int) -> str:
    """Return minutes as hours and minutes, ``3:05``."""
    return f"{minutes // 60}:{minutes % 60:02d}"


def _shown(end: Decimal, step: Decimal) -> str:
    return plain(format(end.quantize(min(step, Decimal(1))), "f"))


def _to(ends: list[Decimal], to: str) -> str:
    """A dash between two ends; a word where one is negative, so that no dash is read as a minus."""
    return f" {to} " if ends[0] < 0 else _DASH
