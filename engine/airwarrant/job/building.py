"""From a record that has its shape to the record the program works with: canonical units, places, conditions."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any, TypeVar

from airwarrant.job.dictionary import HOUSE_KEY, KINDS, UNKNOWN, Field
from airwarrant.job.field_paths import dotted
from airwarrant.job.readings import Reading
from airwarrant.job.record import Blower, Choice, Instrument, Item, JobRecord, Override, Setting, Visit
from airwarrant.job.shape import ITEM_KINDS, LABELS, unit_of
from airwarrant.source.document import Document
from airwarrant.source.place import Place
from airwarrant.source.syntax import Path
from airwarrant.units import convert

_CONDITIONS = ("filter", "doors", "fan_setting")
_HOUSE = KINDS[HOUSE_KEY].fields
#: Kind -> what a visit reads of it, each with its key in the file.
_READ = {
    kind: tuple((f.key or f.name, f) for f in one.fields.values() if f.form == "reading") for kind, one in KINDS.items()
}
_NONE: Mapping[str, str] = MappingProxyType({})
K = TypeVar("K")
V = TypeVar("V")


def build(data: dict[str, Any], document: Document) -> JobRecord:
    """Build the record from the shape's own data, absent keys absent; places come from `document`."""
    return _Builder(data, document, data["units"]).record()


@dataclass(frozen=True, slots=True)
class _Builder:
    data: dict[str, Any]
    document: Document
    system: str

    def record(self) -> JobRecord:
        data = self.data
        items = {HOUSE_KEY: self.house(), **{key: item for key, item in self.items()}}
        days = data["dates"]
        return JobRecord(
            id=data["id"],
            market=data["market"],
            units=self.system,
            demo=data.get("demo", False),
            told=data.get("house", {}).get("told", ""),
            dates=MappingProxyType({name: days.get(name) for name in ("survey", "proposal", "permit")}),
            items=MappingProxyType(dict(sorted(items.items()))),
            old=self.numbers(("old",), (f for f in _HOUSE.values() if f.timed)),
            new=self.numbers(("new",), (f for f in _HOUSE.values() if f.timed)),
            old_blower=self.blower("old"),
            new_blower=self.blower("new"),
            visits=self.visits(days["survey"]),
            overrides=tuple(
                Override(o["line"], o["decision"], o["reason"], o["by"], self.document.place(("override", i)))
                for i, o in enumerate(data.get("override", []))
            ),
            choices=tuple(self.choices()),
            file=self.document.file,
            instruments=MappingProxyType(
                {i["id"]: Instrument(i["id"], i.get("kind", ""), i.get("checked")) for i in data.get("instrument", [])}
            ),
            word_places=MappingProxyType(dict(self.word_places(days["survey"]))),
            labels=MappingProxyType(
                {
                    f"{unit}.{name}": text
                    for unit in ("old", "new")
                    for name in LABELS
                    if (text := data.get(unit, {}).get(name))
                }
            ),
        )

    def house(self) -> Item:
        words: dict[str, str] = {}
        for section in ("house", "old", "new"):
            block = self.data.get(section, {})
            words |= _words(block, (f for f in _HOUSE.values() if f.section == section))
        for unit in ("old", "new"):
            block = self.data.get(unit, {}).get("blower", {})
            words |= _words(block, (f for f in _HOUSE.values() if f.section == f"{unit}-blower"))
        numbers = self.numbers(("house",), (f for f in _HOUSE.values() if f.section == "house"))
        return Item(HOUSE_KEY, HOUSE_KEY, _frozen(words), _frozen({}), numbers, self.document.place(("house",)))

    def items(self) -> Iterable[tuple[str, Item]]:
        for kind in ITEM_KINDS:
            fields = [f for f in KINDS[kind].fields.values() if f.section == "item"]
            for index, block in enumerate(self.data.get(kind, [])):
                path: Path = (kind, index)
                links = {
                    f.name: block[f.key or f.name] for f in fields if f.form == "link" and (f.key or f.name) in block
                }
                yield (
                    block["id"],
                    Item(
                        kind,
                        block["id"],
                        _frozen(_words(block, fields)),
                        _frozen(links),
                        self.numbers(path, fields),
                        self.document.place((*path, "id")),
                        block.get("name", ""),
                        block.get("photo", ""),
                    ),
                )

    def word_places(self, survey: date) -> Iterable[tuple[tuple[str, str], Place]]:
        """Where each word of the record stands; a later pair of one name takes the place of an earlier one."""
        if not self.document.places:
            return
        blocks: list[tuple[str, str, Path]] = [
            (HOUSE_KEY, "house", ("house",)),
            (HOUSE_KEY, "old", ("old",)),
            (HOUSE_KEY, "new", ("new",)),
        ]
        blocks += [(b["id"], "item", (kind, i)) for kind in ITEM_KINDS for i, b in enumerate(self.data.get(kind, []))]
        visits = list(enumerate(self.data.get("visit", [])))
        visits.sort(key=lambda visit: (visit[1].get("date", survey), visit[0]))
        blocks += [
            (HOUSE_KEY, "visit", ("visit", i)) for i, v in visits if v["unit"] == "old" and v["kind"] != "test-out"
        ]
        for key, section, path in blocks:
            kind = HOUSE_KEY if key == HOUSE_KEY else str(path[0])
            for field in KINDS[kind].fields.values():
                place = (*path, field.key or field.name)
                if field.form == "word" and field.section == section and place in self.document.places:
                    yield (key, field.name), self.document.places[place]
        for field in _HOUSE.values():
            unit, _, blower = field.section.partition("-")
            place = (unit, "blower", field.key or field.name)
            if blower and place in self.document.places:
                yield (HOUSE_KEY, field.name), self.document.places[place]

    def numbers(self, path: Path, fields: Iterable[Field]) -> Mapping[str, Reading]:
        """Plain numbers of the block at `path`: stated, and without ±."""
        block: Any = self.data
        for part in path:
            block = block.get(part, {}) if isinstance(part, str) else block[part]
        return _frozen(
            {
                field.name: Reading(
                    self.canonical(block[key], field),
                    field.unit,
                    "stated",
                    0.0,
                    *self.where((*path, key)),
                    None,
                    "",
                    _NONE,
                )
                for field in fields
                if field.form == "number" and (key := field.key or field.name) in block
            }
        )

    def blower(self, unit: str) -> Blower | None:
        block = self.data.get(unit, {}).get("blower")
        if block is None:
            return None
        static, flow = _HOUSE["external_static"], _HOUSE["airflow"]
        settings = tuple(
            Setting(
                s["name"],
                tuple((self.canonical(a, static), self.canonical(b, flow)) for a, b in s["table"]),
                tuple(s.get("power", ())),
            )
            for s in block.get("setting", [])
        )
        return Blower(block.get("kind", UNKNOWN), settings)

    def visits(self, survey: date) -> tuple[Visit, ...]:
        found = []
        for index, block in enumerate(self.data.get("visit", [])):
            path: Path = ("visit", index)
            readings = self.readings(block, path, HOUSE_KEY, HOUSE_KEY, block, index)
            for kind in ITEM_KINDS:
                for i, inner in enumerate(block.get(kind, [])):
                    readings |= self.readings(inner, (*path, kind, i), kind, inner["id"], block, index)
            words = _words(block, (f for f in _HOUSE.values() if f.section == "visit"))
            found.append(
                Visit(
                    index,
                    block["kind"],
                    block["unit"],
                    block.get("date", survey),
                    block.get("fan_setting", ""),
                    _frozen(words),
                    _frozen(readings),
                )
            )
        return tuple(sorted(found, key=lambda visit: (visit.date, visit.index)))

    def readings(
        self, block: dict[str, Any], path: Path, kind: str, key: str, visit: dict[str, Any], index: int
    ) -> dict[tuple[str, str], Reading]:
        """Readings of one block of a visit: its head or one item's."""
        found = {}
        for name, field in _READ[kind]:
            if name not in block:
                continue
            one = block[name]
            conditions = {c: one.get(c, visit.get(c, "")) for c in _CONDITIONS}
            found[key, field.name] = Reading(
                self.canonical(one["value"], field),
                field.unit,
                one.get("state", "measured"),
                self.canonical_difference(one["plus_minus"], field) if "plus_minus" in one else None,
                *self.where((*path, name, "value")),
                index,
                one.get("instrument", ""),
                _frozen({c: word for c, word in conditions.items() if word not in ("", UNKNOWN)}),
                one.get("by", ""),
                one.get("time", ""),
                one.get("photo", ""),
            )
        return found

    def choices(self) -> Iterable[Choice]:
        for index, one in enumerate(self.data.get("choice", [])):
            place = self.document.place(("choice", index))
            yield Choice(
                one.get("option", ""), one.get("accepted"), one.get("line", ""), one.get("decision", ""), place
            )

    def canonical(self, value: float, field: Field) -> float:
        return convert(value, unit_of(field, self.system), field.unit)

    def canonical_difference(self, value: float, field: Field) -> float:
        """The ± of a temperature is a difference of temperatures: the offset between the scales has no part in it."""
        if field.unit == "F":
            return convert(value, "K" if self.system == "si" else "F diff", "F diff")
        return self.canonical(value, field)

    def where(self, path: Path) -> tuple[str, Any]:
        return dotted(self.document.data, path), self.document.place(path)


def _words(block: Mapping[str, Any], fields: Iterable[Field]) -> dict[str, str]:
    """Words of a block by the dictionary's names; ``unknown`` says no more than an absent key and is left out."""
    found = {f.name: block[f.key or f.name] for f in fields if f.form == "word" and (f.key or f.name) in block}
    return {name: word for name, word in found.items() if word != UNKNOWN}


def _frozen(mapping: dict[K, V]) -> Mapping[K, V]:
    return MappingProxyType(mapping)
