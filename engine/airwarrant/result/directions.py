"""What the crew is told of a line: material, joint, photograph, hold point; and the clock of the work while the unit is off."""

from collections.abc import Iterable, Mapping
from decimal import ROUND_CEILING, Decimal
from typing import Any

from airwarrant.result.texts import Texts

#: Parts of the direction of a task; policy words each as ``<task>.<part>``.
PARTS = ("where", "material", "joint", "photo", "hold", "mark")


def directions(words: Texts, task: str, place: str) -> dict[str, str]:
    """Return what policy says to the crew of a task at a place, by part; nothing for a part it is silent on."""
    said = {part: words.say((f"{task}.{part}",), place) for part in PARTS}
    return {part: text for part, text in said.items() if text}


def clock(lines: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """Return when each line of the unit-off window begins and ends, in whole minutes from the moment the unit is off.

    One crew works one line after the other, in the order of work: hours of the price over the people of its crew. A line
    without hours is listed with no time, and the clock says that it is not whole.
    """
    minutes, whole, rows = 0, True, []
    for line in lines:
        if not line["unit_off"] or line["state"] not in ("scoped", "earlier"):
            continue
        takes = _minutes(line["price"])
        if takes is None:
            whole = False
        rows.append({"line": line["id"], "from": minutes, "to": None if takes is None else minutes + takes})
        minutes += takes or 0
    return {"lines": rows, "minutes": minutes, "whole": whole}


def _minutes(price: Mapping[str, Any]) -> int | None:
    hours, crew = price.get("hours"), price.get("crew")
    if hours is None or crew is None:
        return None
    return int((Decimal(hours) * 60 / crew["people"]).to_integral_value(ROUND_CEILING))
