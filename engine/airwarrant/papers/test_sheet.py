"""The test-out sheet: what is read again when the work is done, with room to write, and combustion last."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.papers.numbers import amount
from airwarrant.papers.page import page
from airwarrant.papers.sheet import HOUSE, Sheet

#: Readings of the house in the order in which they are taken, by the part of the sheet they stand in.
_PARTS: Mapping[str, tuple[str, ...]] = {
    "pressure": (
        "return_static",
        "supply_static",
        "external_static",
        "filter_drop",
        "return_duct_drop",
        "collar_drop",
        "plenum_drop",
        "branch_drop",
        "coil_drop",
    ),
    "air": ("airflow", "heating_flow", "register_flow", "grille_flow", "grille_area", "power"),
    "leakage": ("leakage_25", "leakage_return_25", "leakage_supply_25", "leakage_outside_25"),
    "temperature": ("grille_temp", "grille_wet_bulb", "unit_temp", "supply_temp", "outdoor_temp", "temperature_rise"),
}
#: Read with combustion, at the very end.
_LAST = "ambient_co"
_LAST_KINDS = ("zone", "appliance")
#: Readings of an appliance and a zone that are asked for wherever one of them is.
_OF_LAST: Mapping[str, tuple[str, ...]] = {"zone": ("draft",), "appliance": ("spill", "spill_cold", "flue_co")}


@dataclass(frozen=True, slots=True)
class Bound:
    """One limit of a target: what it must be, whose it is, and whether missing it stops the hand-over."""

    must_be: str
    value: str
    title: str
    whose: str
    cite: str
    gate: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One reading to take; `after` stays empty on the paper."""

    key: str
    field: str
    name: str
    title: str
    unit: str
    before: str
    predicted: str
    bounds: tuple[Bound, ...]


def test_sheet(sheet: Sheet, size: str) -> str:
    """Return the sheet as HTML."""
    form = _Form(sheet)
    last = list(form.last())
    bounds = [bound for row in (*form.all_rows(), *last) for bound in row.bounds]
    cites = dict.fromkeys(bound.cite for bound in bounds if bound.cite)
    return page(
        "test_sheet",
        sheet,
        size,
        setting=form.setting,
        found=form.words_found(),
        parts=[(name, rows) for name in _PARTS if (rows := form.part(name))],
        others=form.items(),
        rooms=form.rooms(),
        doors=form.doors(),
        dampers=sheet.result["crew"]["dampers"],
        retests=form.retests(),
        noisy=[key for key, item in sheet.result["record"]["items"].items() if _noisy(item)],
        zones=form.zones(last),
        flame=any(row.key != HOUSE for row in last),
        notes={cite: number for number, cite in enumerate(cites, 1)},
    )


def _noisy(item: Mapping[str, Any]) -> bool:
    return bool(item["facts"].get("complaint", {}).get("word") == "noisy")


class _Form:
    """Looks up what the sheet asks for."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        result = sheet.result
        self._scope = result["predictions"]["scope"]
        self.setting = str(self._scope["setting"]) if self._scope else ""
        self._visits = [
            v for v in reversed(result["record"]["visits"]) if v["unit"] == "old" and v["kind"] != "test-out"
        ]
        self._before: dict[tuple[str, str], Mapping[str, Any]] = {}
        for visit in self._visits:
            for one in visit["readings"]:
                self._before.setdefault((one["key"], one["field"]), one)
        self._asked: dict[tuple[str, str], dict[str, Any]] = {}
        self._targets: dict[tuple[str, str], list[Mapping[str, Any]]] = {}
        for target in result["acceptance"]:
            for number, one in enumerate(target["reads"]):
                at = (one["key"], one["field"])
                self._asked.setdefault(at, one)
                if number == 0:
                    self._targets.setdefault(at, []).append(target)
        for one in result["predictions"]["compared"]:
            self._asked.setdefault((one["key"], one["field"]), one)

    def part(self, name: str) -> list[Row]:
        """Readings of the house in one part: those a target or a cause rests on, and those that were read before."""
        return [
            self._row(HOUSE, field)
            for field in _PARTS[name]
            if (HOUSE, field) in self._asked or (HOUSE, field) in self._before
        ]

    def rooms(self) -> list[Row]:
        """Air into each room that a target names or that was read before."""
        return [self._row(key, "flow") for key in self._of_kind("room") if self._wanted(key, "flow")]

    def doors(self) -> list[Row]:
        """Pressure behind each door that a target names or that was read before."""
        return [self._row(key, "door_pressure") for key in self._of_kind("room") if self._wanted(key, "door_pressure")]

    def items(self) -> list[Row]:
        """What else a target rests on: things that are neither house, room, zone nor appliance, and the house's own beside the parts."""
        there = {field for fields in _PARTS.values() for field in fields} | {_LAST}
        return [
            self._row(key, field)
            for key, field in self._asked
            if (field not in there if key == HOUSE else self._kind(key) not in (*_LAST_KINDS, "room"))
        ]

    def last(self) -> Iterator[Row]:
        """Combustion: the air of the rooms, then each zone and each appliance that has a flame."""
        if self._of_kind("zone") or (HOUSE, _LAST) in self._asked:
            yield self._row(HOUSE, _LAST)
        for kind in _LAST_KINDS:
            for key in self._of_kind(kind):
                asked = any(at == key for at, _ in self._asked)
                for field in _OF_LAST[kind]:
                    if self._wanted(key, field) or (asked and field != "flue_co"):
                        yield self._row(key, field)

    def zones(self, rows: Iterable[Row]) -> list[tuple[str, list[Row]]]:
        """Rows of combustion by zone: the house first, an appliance under the zone it stands in."""
        groups: dict[str, list[Row]] = {}
        for row in rows:
            at = row.key
            if row.key != HOUSE and self._kind(row.key) == "appliance":
                at = self._sheet.fact(row.key, "zone") or row.key
            groups.setdefault(at, []).append(row)
        return list(groups.items())

    def all_rows(self) -> Iterator[Row]:
        """Every row but those of combustion, in the order of the sheet."""
        for name in _PARTS:
            yield from self.part(name)
        yield from (*self.items(), *self.rooms(), *self.doors())

    def words_found(self) -> dict[str, str]:
        """How the readings before were taken, the newest word of each."""
        found: dict[str, str] = {}
        for visit in self._visits:
            for name, word in visit["words"].items():
                found.setdefault(name, word)
        return found

    def retests(self) -> list[Mapping[str, Any]]:
        """What was left to be read at test-out."""
        return [one for one in self._sheet.result["retests"] if one["when"] == "at-test-out"]

    def _row(self, key: str, field: str) -> Row:
        one = self._before.get((key, field))
        known = self._asked.get((key, field)) or one or {}
        predicted = (self._scope or {}).get("readings", {}).get(key, {}).get(field)
        unit = str(known.get("unit") or (predicted or {}).get("unit", ""))
        return Row(
            key,
            field,
            "" if key == HOUSE else self._sheet.place(key),
            self._title(field, str(known.get("title", field))),
            unit,
            amount(one["value"], one["unit"]) if one else "",
            self._sheet.range(predicted),
            tuple(self._bound(target) for target in self._targets.get((key, field), ())),
        )

    def _bound(self, target: Mapping[str, Any]) -> Bound:
        verdict = self._sheet.verdict(target["check"], target["place"], "predicted") or self._sheet.verdict(
            target["check"], target["place"]
        )
        whose = self._sheet.whose(verdict) if verdict and verdict.get("limit") else None
        value = amount(target["limit"], target["unit"]) if target["limit"] is not None else ""
        title = self._sheet.say(target["title"])
        return Bound(
            target["must_be"], value, title, whose.kind if whose else "", whose.cite if whose else "", target["gate"]
        )

    def _title(self, field: str, title: str) -> str:
        name = f"reading.{field}"
        return self._sheet.words(name) if self._sheet.words.has(name) else self._sheet.say(title)

    def _wanted(self, key: str, field: str) -> bool:
        return (key, field) in self._asked or (key, field) in self._before

    def _of_kind(self, kind: str) -> list[str]:
        return [key for key, item in self._sheet.result["record"]["items"].items() if item["kind"] == kind]

    def _kind(self, key: str) -> str:
        return str(self._sheet.result["record"]["items"][key]["kind"])
