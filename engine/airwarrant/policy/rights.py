"""Rights: who may change what. A breach is refused with both positions."""

import json
from collections.abc import Iterable, Mapping
from importlib.resources import files
from itertools import pairwise
from typing import Any

from airwarrant.policy.access import row_of
from airwarrant.policy.faults import Faults, shown
from airwarrant.policy.layers import LIMITS, STEPS, Block, Change
from airwarrant.policy.model import Parameter, Table
from airwarrant.source.place import Place
from airwarrant.units import UNITS, convert, same_dimension

#: Keys that say something about a value and do not change it.
_FREE = frozenset({"title", "note", "basis", "choices", "of", "review_by", "acceptance", "retest_when"})
_EDITS = ("locked", "code", "company", "job")


def check_rights(changes: Iterable[Change], blocks: Mapping[str, Mapping[str, Block]], faults: Faults) -> None:
    """Note every change that its author had no right to.

    Parameters
    ----------
    changes : iterable of Change
        What later layers did to blocks of earlier ones.
    blocks : mapping
        What the layers say in the end. A check whose limit is a locked value is as fixed as the value, and so is a figure
        that such a check is made from.
    faults : Faults
        Receives the breaches.
    """
    changes = tuple(changes)
    locked = _locked_names(blocks)
    figures = {**blocks["figure"], **{c.before.name: c.before for c in changes if c.before.section == "figure"}}
    checks = [*blocks["check"].values(), *(c.before for c in changes if c.before.section == "check")]
    guarded = {name for check in checks if _limits_read(check) & locked for name in _made_from(check, figures)}
    for change in changes:
        before, edit = change.before, change.before.get("edit")
        guards = (before.section == "check" and _limits_read(before) & locked) or (
            before.section == "figure" and before.name in guarded
        )
        if change.removed is not None:
            if guards or edit == "locked" or (edit == "code" and not change.file_layer.startswith("codes/")):
                what = edit if edit in _EDITS[:2] else "part of a locked limit"
                found = f"{before.section} `{before.name}` is {what} and may not be taken out"
                _breach(faults, found, "leaving it in", before.place, change.removed)
            continue
        _edit_may_not_loosen(change, faults)
        if edit == "locked":
            _locked(change, faults)
        elif guards:
            for key, given in change.given.items():
                if key not in _FREE and given.value != before.get(key):
                    found = f"{before.section} `{before.name}` is part of a locked limit and its `{key}` may not change"
                    _breach(faults, found, _as_it_was(before, key), before.at(key), given.place)
        elif edit == "code" and change.given.keys() & {"value", "rows", "unit"} and "basis" not in change.given:
            moved = change.given[next(k for k in ("value", "rows", "unit") if k in change.given)]
            _breach(
                faults,
                f"{before.section} `{before.name}` is adopted law and gets a new value without a source of its own",
                "a `basis` with cite, edition and adopted beside it",
                before.at("basis"),
                moved.place,
                "code-needs-source",
            )


def check_floors(parameters: Mapping[str, Parameter], tables: Mapping[str, Table], faults: Faults) -> None:
    """Note every composed value beyond the floor that the package itself pins."""
    floors = json.loads(files("airwarrant.policy").joinpath("floors.json").read_text("utf-8"))
    for name, floor in floors["parameters"].items():
        if name in parameters:
            held = parameters[name]
            _floor(name, held.value, held.unit, floor["value"], floor, held.keys["value"].place, faults)
    for name, floor in floors["tables"].items():
        if name not in tables:
            continue
        place = tables[name].keys["rows"].place
        rows = dict(tables[name].rows)
        for key, least in floor["rows"]:
            if key in rows:
                _floor(f"{name} of {key}", rows[key], tables[name].unit, least, floor, place, faults)
            else:
                faults.note(
                    "beyond-floor",
                    f"`{name}` has no row {shown(key)}",
                    f"a row no looser than {least:g} {floor['unit']}, pinned in the package",
                    place=place,
                )


def _floor(
    what: str, value: float | str, unit: str, pinned: float, floor: Mapping[str, Any], place: Place, faults: Faults
) -> None:
    safer, own = floor["safer"], floor["unit"]
    ok = (
        not isinstance(value, str)
        and unit in UNITS
        and same_dimension(unit, own)
        and _safer_or_equal(convert(value, unit, own), pinned, safer)
    )
    if not ok:
        side = "at most" if safer == "lower" else "at least"
        faults.note(
            "beyond-floor",
            f"`{what}` is {shown(value)} {unit}",
            f"{side} {pinned:g} {own}, the floor that is pinned in the program",
            place=place,
        )


def _edit_may_not_loosen(change: Change, faults: Faults) -> None:
    old, new = change.before.get("edit"), change.given.get("edit")
    if old in ("locked", "code") and new is not None and _EDITS.index(new.value) > _EDITS.index(old):
        _breach(
            faults,
            f"{change.before.section} `{change.before.name}` is {old}; a later layer makes it {new.value}",
            f'edit = "{old}"',
            change.before.at("edit"),
            new.place,
        )


def _locked(change: Change, faults: Faults) -> None:
    before, given = change.before, change.given
    for key in sorted(given):
        if key in _FREE or key in ("value", "rows", "unit", "edit"):
            continue
        if given[key].value != before.get(key):
            _breach(
                faults,
                f"{before.section} `{before.name}` is locked and its `{key}` may not change",
                _as_it_was(before, key),
                before.at(key),
                given[key].place,
            )
    if before.section == "parameter" and given.keys() & {"value", "unit"}:
        _locked_parameter(change, faults)
    elif before.section == "table" and given.keys() & {"rows", "unit"}:
        _locked_table(change, faults)
    elif "unit" in given and given["unit"].value != before.get("unit"):
        _breach(
            faults,
            f"{before.section} `{before.name}` is locked and its `unit` may not change",
            _as_it_was(before, "unit"),
            before.at("unit"),
            given["unit"].place,
        )


def _locked_parameter(change: Change, faults: Faults) -> None:
    before, after = change.before, change.after
    old, new, safer = before.get("value"), after.get("value"), before.get("safer", "")
    place = _given_place(change, "value")
    if isinstance(old, str) or isinstance(new, str):
        if old != new:
            _breach(
                faults,
                f"`{before.name}` is locked at {shown(old)}; a later layer makes it {shown(new)}",
                shown(old),
                before.at("value"),
                place,
            )
        return
    moved = _converted(new, after.get("unit"), before.get("unit"))
    if moved is None or not _safer_or_equal(moved, float(old), safer):
        _breach(
            faults,
            f"`{before.name}` is locked at {old:g} {before.get('unit')}; a later layer makes it {new:g} {after.get('unit')}",
            _bound(safer, old, before),
            before.at("value"),
            place,
        )


def _locked_table(change: Change, faults: Faults) -> None:
    before, after = change.before, change.after
    safer, place = before.get("safer", ""), _given_place(change, "rows")
    for key in _probes(before, after):
        old, new = _answer(before, key), _answer(after, key)
        if old is None:
            continue
        moved = None if new is None else _converted(new, after.get("unit"), before.get("unit"))
        if moved is None or not _safer_or_equal(moved, old, safer):
            made = "takes the answer away" if new is None else f"makes it {new:g}"
            _breach(
                faults,
                f"`{before.name}` at {shown(key)} is locked at {old:g} {before.get('unit')}; a later layer {made}",
                _bound(safer, old, before),
                before.at("rows"),
                place,
            )


def _given_place(change: Change, key: str) -> Place:
    return (change.given.get(key) or change.given["unit"]).place


def _probes(before: Block, after: Block) -> list[Any]:
    """Every key of either table; of numbers also what lies between them and beyond the ends."""
    keys = {row[0] for block in (before, after) for row in block.get("rows")}
    if any(isinstance(key, str) for key in keys):
        return sorted(keys, key=str)
    line = sorted(keys)
    between = [(a + b) / 2 for a, b in pairwise(line)]
    return sorted([*line, *between, line[0] - 1, line[-1] + 1])


def _answer(block: Block, key: Any) -> float | None:
    row = row_of(
        [(k, v) for k, v in block.get("rows")],
        key,
        block.get("between", "no-answer"),
        block.get("below_first", "no-answer"),
        block.get("above_last", "no-answer"),
    )
    return None if row is None or isinstance(row[0], str) else float(row[0])


def _converted(value: float, unit: str, to: str) -> float | None:
    if unit not in UNITS or to not in UNITS or not same_dimension(unit, to):
        return None
    return convert(value, unit, to)


def _safer_or_equal(new: float, old: float, safer: str) -> bool:
    # A value given in another unit comes back from the conversion with a rounding error of its own.
    slack = 1e-9 * max(abs(new), abs(old))
    if safer == "lower":
        return new <= old + slack
    if safer == "higher":
        return new >= old - slack
    return abs(new - old) <= slack


def _limits_read(block: Block) -> set[str]:
    return {text[1:] for text in _texts(block, (*LIMITS, "times")) if text.startswith("@")}


def _made_from(check: Block, figures: Mapping[str, Block]) -> set[str]:
    """Names of the figures that a check is made from, through figures of figures."""
    made: set[str] = set()
    todo = [str(check.get("reading")), *_texts(check, LIMITS)]
    while todo:
        name = todo.pop().rpartition(".")[2]
        if name in figures and name not in made:
            made.add(name)
            todo += _texts(figures[name], STEPS)
    return made


def _texts(block: Block, keys: Iterable[str]) -> list[str]:
    """Every reference under some keys of a block."""
    out: list[str] = []
    for key in keys:
        raw = block.get(key, [])
        for one in raw if isinstance(raw, list) else [raw]:
            out += one.values() if isinstance(one, dict) else [one]
    return out


def _bound(safer: str, old: float, before: Block) -> str:
    side = {"lower": "at most ", "higher": "at least "}.get(safer, "")
    return f"{side}{old:g} {before.get('unit')}"


def _as_it_was(before: Block, key: str) -> str:
    return f"{key} = {shown(before.get(key))}" if key in before.keys else f"no key `{key}`"


def _breach(faults: Faults, text: str, allowed: str, old: Place, new: Place, code: str = "right-breached") -> None:
    faults.note(code, f"{text} (set at {old})", allowed, place=new)


def _locked_names(blocks: Mapping[str, Mapping[str, Block]]) -> frozenset[str]:
    """Return the names of the locked parameters and tables."""
    return frozenset(
        name for section in ("parameter", "table") for name, b in blocks[section].items() if b.get("edit") == "locked"
    )
