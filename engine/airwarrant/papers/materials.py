"""Materials as the crew loads them: added up over the lines, and line by line. The result did the adding; no price is told."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.papers.numbers import plain
from airwarrant.papers.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Load:
    """So much of one thing: `size` what it is bought by, `notes` what to know before it is bought, `lines` what it is for."""

    title: str
    size: str
    quantity: str
    notes: tuple[str, ...]
    lines: tuple[str, ...]


def together(sheet: Sheet) -> list[Load]:
    """Materials of all lines to be built."""
    return _loads(sheet, sheet.result["crew"]["materials"]["together"])


def of_line(sheet: Sheet, line: str) -> list[Load]:
    """Materials of one line; none where it needs none, or where it was ordered with an earlier visit's work."""
    lines = sheet.result["crew"]["materials"]["lines"]
    return _loads(sheet, next((one["materials"] for one in lines if one["line"] == line), ()))


def _loads(sheet: Sheet, several: Iterable[Mapping[str, Any]]) -> list[Load]:
    return [_load(sheet, one) for one in several]


def _load(sheet: Sheet, one: Mapping[str, Any]) -> Load:
    w = sheet.words
    size = f"{one['size']} {one['size_unit']}" if one["size"] else ""
    piece = f"{plain(one['piece'])} {one['piece_unit']}" if one["piece"] else ""
    notes = [w("materials.waste")] if one["waste"] else []
    notes += [w("materials.assumed")] if one["assumed"] else []
    return Load(
        sheet.say(one["title"]),
        size or piece,
        f"{plain(one['quantity'])} {w.of('materials.unit', one['unit'])}",
        tuple(notes),
        tuple(one["lines"]),
    )
