"""The crew's work order: dangers first, what to have ready, the work in its order with a clock, what waits, what is measured at the end."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from airwarrant.papers.drawn import PHONE, Pictures
from airwarrant.papers.materials import Load, of_line, together
from airwarrant.papers.numbers import amount, clock
from airwarrant.papers.page import page
from airwarrant.papers.sheet import HOUSE, Sheet

#: Authorities whose cautions stand with the dangers; those of practice stand with the ways of work.
_GRAVE = ("safety", "code", "listing")
_HOMEOWNER = "homeowner"
_PARTS = ("where", "material", "joint", "photo", "mark")
#: Facts a crew looks for before it sets out, in the order of the record; and those to ask about where the record is silent.
JOB = (
    "form", "old_form", "fuel", "refrigerant", "year_built", "floor_area", "storeys", "foundation",
    "return_path_space", "supply_path_space", "gas_service", "attached_garage",
)  # fmt: skip
ACCESS = (
    "roof_height", "roof_pitch", "roof_cover", "crane_needed", "attic_kind", "hatch_width", "hatch_length", "attic_path",
    "attic_path_width", "service_space", "crawl_height", "parking", "pets",
)  # fmt: skip
_UNITS, _PATHS = ("form", "old_form"), ("return_path_space", "supply_path_space")
#: Access to one form of equipment, old or new, or to one space of either path: the facts that make it matter.
_ROOF = ((_UNITS, "package-roof"), (_PATHS, "roof"))
_ATTIC = ((_UNITS, "split-attic"), (_PATHS, "attic"))
_ATTIC_UNIT = ((_UNITS, "split-attic"),)
_CRAWL = ((_PATHS, "crawl"),)
_ONLY_WHERE = {
    "roof_height": _ROOF, "roof_pitch": _ROOF, "roof_cover": _ROOF, "crawl_height": _CRAWL, "hatch_width": _ATTIC,
    "hatch_length": _ATTIC, "attic_kind": _ATTIC, "attic_path": _ATTIC_UNIT, "attic_path_width": _ATTIC_UNIT, "service_space": _ATTIC_UNIT,
}  # fmt: skip
#: Kinds of places where something burns: tested last.
_FLAMES = ("zone", "appliance")
#: Figures of the new unit held against what is delivered.
_NAMEPLATE = ("tons", "static_max", "heat_min_flow", "rise_low", "rise_high")


@dataclass(frozen=True, slots=True)
class Danger:
    """A fact of danger, and where; `known` where the record says it is so, else nobody has answered."""

    title: str
    place: str
    word: str
    known: bool


@dataclass(frozen=True, slots=True)
class Fact:
    """A label and what the record says; empty where it is silent and the crew writes it down."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class Task:
    """One line as it is built; `begins` and `ends` on the clock of the unit-off window, empty off it."""

    line: Mapping[str, Any]
    begins: str
    ends: str
    loads: tuple[Load, ...]
    lands: str


@dataclass(frozen=True, slots=True)
class Card:
    """Lines of one task that follow each other and are told the same: where, material, joint, photo, mark; and where to stop."""

    told: tuple[tuple[str, str], ...]
    hold: str
    tasks: tuple[Task, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of the day: `name` one of before, window, after, work."""

    name: str
    cards: tuple[Card, ...]

    @property
    def tasks(self) -> tuple[Task, ...]:
        return tuple(task for card in self.cards for task in card.tasks)


@dataclass(frozen=True, slots=True)
class Damper:
    """A room's damper: its air and its loss as predicted, empty where nothing is predicted."""

    place: str
    flow: str
    loss: str


@dataclass(frozen=True, slots=True)
class Waiting:
    """Work that is not to be done yet: a line, or with no line what a hold speaks of."""

    what: str
    places: tuple[str, ...]
    until: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Target:
    """A check of the test-out with its limit at each place."""

    title: str
    gate: bool
    limits: tuple[tuple[str, str], ...]


def work_order(sheet: Sheet, size: str) -> str:
    """Return the work order with its material list as HTML."""
    result = sheet.result
    cautions = [one for one in result["cautions"] if one["for"] != _HOMEOWNER]
    scoped = sheet.lines("scoped")
    return page(
        "work_order",
        sheet,
        size,
        go=result["sellable"]["answer"] == "yes",
        waits=_waits(sheet),
        dangers=_dangers(sheet),
        grave=[_caution(sheet, one) for one in cautions if one["authority"] in _GRAVE],
        ways=[_caution(sheet, one) for one in cautions if one["authority"] not in _GRAVE],
        ready=[sheet.say(one["said"]) for one in result["crew"]["ready"]],
        leave=[sheet.say(one["said"]) for one in result["crew"]["leave"]],
        job=_job(sheet),
        access=_access(sheet),
        confirm=_confirm(sheet),
        parts=_parts(sheet, scoped),
        earlier=sheet.lines("earlier"),
        sketch=Pictures(sheet).path(),
        small=Pictures(sheet, PHONE).path(),
        window=clock(result["clock"]["minutes"]),
        during=[one for one in result["retests"] if one["when"] != "at-test-out"],
        dampers=_dampers(sheet),
        waiting=_waiting(sheet),
        targets=_targets(sheet),
        changed=_changed(sheet),
        loads=together(sheet),
        numbers={line["id"]: line["order"] for line in result["lines"]},
    )


def _waits(sheet: Sheet) -> list[str]:
    """What the whole offer waits for, in the papers' language; readings it waits for stand in a table of their own."""
    result = sheet.result
    held = [sheet.say(one["said"]) for one in result["holds"] if "proposal" in one["lines"]]
    read = any(one["when"] == "before-sale" for one in result["retests"])
    return list(dict.fromkeys(held)) or ([] if read else [sheet.say(why) for why in result["sellable"]["why"]])


def _caution(sheet: Sheet, one: Mapping[str, Any]) -> tuple[str, tuple[str, ...]]:
    return sheet.say(one["said"]), tuple(sheet.place(key) for key in one["subjects"] if key != HOUSE)


def _dangers(sheet: Sheet) -> list[Danger]:
    made = []
    for one in sheet.result["crew"]["hazards"]:
        place = "" if one["key"] == HOUSE else sheet.place(one["key"])
        title = _label(sheet, one["field"], one["title"])
        word = sheet.words.of("work_order.word", one["word"])
        made.append(Danger(title, place, word, one["word"] != "unknown"))
    return sorted(made, key=lambda one: not one.known)


def _label(sheet: Sheet, field: str, title: str = "") -> str:
    """What a fact is called here; where the papers have no words for it, its title in the record's dictionary."""
    name = f"work_order.fact.{field}"
    return sheet.words(name) if sheet.words.has(name) else title or field


def _value(sheet: Sheet, field: str) -> str:
    word = sheet.fact(HOUSE, field)
    return sheet.words.of("work_order.word", word) if word else sheet.number(HOUSE, field)


def _job(sheet: Sheet) -> list[Fact]:
    setting = (sheet.result["predictions"]["scope"] or {}).get("setting", "")
    facts = [Fact(_label(sheet, field), _value(sheet, field)) for field in JOB]
    return [
        *(one for one in facts if one.value),
        *([Fact(sheet.words("work_order.setting"), setting)] if setting else []),
    ]


def _access(sheet: Sheet) -> list[Fact]:
    return [
        Fact(_label(sheet, field), _value(sheet, field))
        for field in ACCESS
        if _value(sheet, field) or _concerns(sheet, field)
    ]


def _concerns(sheet: Sheet, field: str) -> bool:
    where = _ONLY_WHERE.get(field)
    return where is None or any(sheet.fact(HOUSE, other) == word for others, word in where for other in others)


def _confirm(sheet: Sheet) -> list[Fact]:
    """What is held against the delivered unit before metal is cut; openings and curb with a blank each."""
    w, items = sheet.words, sheet.result["record"]["items"]
    openings = [
        Fact(f"{_label(sheet, field)} · {sheet.place(key)}", sheet.number(key, field))
        for key, item in items.items()
        for field in ("return_opening", "supply_opening")
        if item["kind"] == "elbow"
    ] or [Fact(_label(sheet, field), "") for field in ("return_opening", "supply_opening")]
    new = sheet.result["record"]["new"]
    plate = [Fact(_label(sheet, one), amount(new[one]["value"], new[one]["unit"])) for one in _NAMEPLATE if one in new]
    curb = [Fact(w("work_order.curb"), "")] if sheet.fact(HOUSE, "form").startswith("package") else []
    return [Fact(w("work_order.hand"), ""), *curb, *openings, *plate]


def _parts(sheet: Sheet, scoped: list[Mapping[str, Any]]) -> list[Part]:
    """The lines in their order, parted at the moment the unit goes off and the moment it may run."""
    off = [i for i, line in enumerate(scoped) if line["unit_off"]]
    if not off:
        return [Part("work", tuple(_cards(sheet, scoped)))] if scoped else []
    cut = (0, off[0], off[-1] + 1, len(scoped))
    made = [
        Part(name, tuple(_cards(sheet, scoped[a:b])))
        for name, a, b in zip(("before", "window", "after"), cut, cut[1:], strict=False)
    ]
    return [one for one in made if one.cards]


def _cards(sheet: Sheet, lines: list[Mapping[str, Any]]) -> Iterator[Card]:
    times = {one["line"]: one for one in sheet.result["clock"]["lines"]}
    for _, several in groupby(lines, lambda line: (line["task"], line["tier"], line["directions"])):
        same = list(several)
        told = {part: sheet.say(text) for part, text in same[0]["directions"].items()}
        yield Card(
            tuple((part, told[part]) for part in _PARTS if part in told),
            told.get("hold", ""),
            tuple(_task(sheet, line, times.get(line["id"])) for line in same),
        )


def _task(sheet: Sheet, line: Mapping[str, Any], time: Mapping[str, Any] | None) -> Task:
    lands = sheet.fact(line["place"], "lands")
    return Task(
        line,
        clock(time["from"]) if time else "",
        clock(time["to"]) if time and time["to"] is not None else "",
        tuple(of_line(sheet, line["id"])),
        sheet.words.of("work_order.word", lands) if lands else "",
    )


def _dampers(sheet: Sheet) -> list[Damper]:
    scope = sheet.result["predictions"]["scope"]
    predicted = scope["readings"] if scope else {}
    keys = [*sheet.result["crew"]["dampers"], *(key for key, one in predicted.items() if "damper_loss" in one)]
    return [
        Damper(sheet.place(key), sheet.predicted(scope, key, "flow"), sheet.predicted(scope, key, "damper_loss"))
        for key in dict.fromkeys(keys)
    ]


def _waiting(sheet: Sheet) -> list[Waiting]:
    made = [
        Waiting(
            sheet.say(line["title"]),
            (sheet.place(line["place"]),),
            tuple(dict.fromkeys(sheet.say(one["said"]) for one in line["held_by"])),
        )
        for line in sheet.lines("held")
    ]
    # Holds with no line: one entry for what they say, with all the places they speak of.
    loose: dict[str, list[str]] = {}
    for one in sheet.result["holds"]:
        if not one["lines"]:
            loose.setdefault(sheet.say(one["said"]), []).append(one["subject"])
    return made + [Waiting("", tuple(sheet.place(key) for key in keys), (said,)) for said, keys in loose.items()]


def _targets(sheet: Sheet) -> list[Target]:
    """Checks of the test-out, one entry a check; what bars the hand-over comes last, as it is read last."""
    rows: dict[tuple[bool, bool, str], list[tuple[str, str]]] = {}
    items = sheet.result["record"]["items"]
    for one in sheet.result["acceptance"]:
        limit = one["limit"]
        must = sheet.words.of("work_order.must", one["must_be"])
        said = sheet.words("work_order.no_limit") if limit is None else f"{must} {amount(limit, one['unit'])}"
        place = "" if one["place"] == HOUSE else sheet.place(one["place"])
        flame = items.get(one["place"], {}).get("kind") in _FLAMES
        rows.setdefault((one["gate"], flame, sheet.say(one["title"])), []).append((place, said))
    return [Target(key[2], key[0], tuple(rows[key])) for key in sorted(rows, key=lambda one: one[:2])]


def _changed(sheet: Sheet) -> list[tuple[str, list[str]]]:
    """What a newer visit changed since the order before; nothing on a first order."""
    before = sheet.result["supersedes"]
    if not before:
        return []
    groups = {
        "added": before["added"],
        "removed": before["removed"],
        "changed": [one["line"] for one in before["changed"]],
    }
    return [(name, [sheet.offer_line(id) for id in ids]) for name, ids in groups.items() if ids]
