"""Numbers and tables as the terminal shows them, in either system of units."""

import re
from collections.abc import Mapping
from typing import Any

from rich.table import Table

from airwarrant.units import UNITS, convert, fixed

#: Below this many columns a table leaves out what `why` tells as well, and breaks names where they may be broken.
WIDE = 110
_SI = {
    "in. w.c.": "Pa",
    "cfm": "L/s",
    "cfm/ton": "L/s/kW",
    "F": "C",
    "F diff": "K",
    "in": "mm",
    "ft": "m",
    "in2": "cm2",
    "Btu/h": "kW",
}


def table_of(title: str) -> Table:
    """A table in the one style of all."""
    return Table(box=None, pad_edge=False, header_style="dim", title=title, title_justify="left", title_style="bold")


def shown(value: float, unit: str, units: str, *, sign: bool = False) -> str:
    """A number with its unit, in ``ip`` or ``si``."""
    other = _SI.get(unit, unit) if units == "si" else unit
    # A market's currency is no unit of the list: money is whole.
    text = fixed(convert(value, unit, other), other) if other in UNITS else fixed(value, "money")
    return f"{'+' if sign and value > 0 else ''}{text} {other}"


_AMOUNT = re.compile(
    r"(?<![\w.])(-?\d+(?:\.\d+)?) ("
    + "|".join(re.escape(u) for u in sorted(_SI, key=len, reverse=True))
    + r")(?![\w/])"
)


def in_units(text: str, units: str) -> str:
    """A sentence of the result with its amounts in the units asked for; the result itself keeps the trade's."""
    if units != "si":
        return text
    return _AMOUNT.sub(lambda amount: shown(float(amount[1]), amount[2], units), text)


def span(reading: Mapping[str, Any], units: str) -> str:
    """A prediction as a range: a single number would promise what cannot be known."""
    low = reading.get("low", reading["value"] - reading["plus_minus"])
    high = reading.get("high", reading["value"] + reading["plus_minus"])
    first = shown(low, reading["unit"], units).split(" ", 1)[0]
    last = shown(high, reading["unit"], units)
    return last if first == last.split(" ", 1)[0] else f"{first}–{last}"
