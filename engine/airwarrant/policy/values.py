"""Parameters and tables of a composed policy: units, closed choices, rows in order."""

from collections.abc import Mapping
from typing import Any

from airwarrant.errors import nearest
from airwarrant.job.dictionary import KINDS, UNKNOWN
from airwarrant.policy.faults import Faults, shown, words
from airwarrant.policy.layers import Block
from airwarrant.policy.model import Parameter, Table
from airwarrant.source.place import Place
from airwarrant.units import UNITS

#: The key of a table whose words are names of readings.
BY_READING = "reading"


def parameters(blocks: Mapping[str, Block], faults: Faults) -> dict[str, Parameter]:
    """Build every parameter, in name order."""
    return {name: _parameter(blocks[name], faults) for name in sorted(blocks)}


def tables(blocks: Mapping[str, Block], faults: Faults) -> dict[str, Table]:
    """Build every table, in name order."""
    return {name: _table(blocks[name], faults) for name in sorted(blocks)}


def check_unit(unit: str, place: Place, faults: Faults) -> bool:
    """Whether a unit is of the closed list; a fault if it is not."""
    if unit in UNITS:
        return True
    faults.note("unknown-unit", f"there is no unit `{unit}`", words(UNITS), place=place, advice=nearest(unit, UNITS))
    return False


def _parameter(block: Block, faults: Faults) -> Parameter:
    value, unit, choices = block.get("value"), block.get("unit"), block.get("choices")
    if check_unit(unit, block.at("unit"), faults) and (unit == "word") != isinstance(value, str):
        allowed = 'a word in quotes, or a unit other than "word"' if unit == "word" else 'a number, or unit = "word"'
        faults.note(
            "word-or-number",
            f"`{block.name}` has the value {shown(value)} and the unit `{unit}`",
            allowed,
            place=block.at("value"),
        )
    if choices is not None and value not in choices:
        faults.note(
            "not-a-choice",
            f"`{block.name}` is {shown(value)}",
            words(map(shown, choices)),
            place=block.at("value"),
            advice=nearest(str(value), map(str, choices)),
        )
    return Parameter(
        block.name,
        block.place,
        block.layer,
        block.sourced(),
        value=value if isinstance(value, str) else float(value),
        unit=unit,
        title=block.get("title"),
        edit=block.get("edit"),
        basis=_basis(block, faults),
        safer=block.get("safer", ""),
    )


def _table(block: Block, faults: Faults) -> Table:
    by_unit, unit = block.get("by_unit", ""), block.get("unit")
    check_unit(unit, block.at("unit"), faults)
    if by_unit:
        check_unit(by_unit, block.at("by_unit"), faults)
    rows = _rows(block, bool(by_unit), faults)
    if not by_unit:
        _words_known(block, rows, faults)
        for key in ("between", "below_first", "above_last"):
            if key in block.keys:
                faults.note(
                    "word-table",
                    f"`{block.name}` has words for keys, so `{key}` means nothing",
                    "no such key, or numbers with `by_unit`",
                    place=block.at(key),
                )
    return Table(
        block.name,
        block.place,
        block.layer,
        block.sourced(),
        rows=rows,
        by=block.get("by"),
        by_unit=by_unit,
        unit=unit,
        title=block.get("title"),
        edit=block.get("edit"),
        basis=_basis(block, faults),
        between=block.get("between", "no-answer"),
        below_first=block.get("below_first", "no-answer"),
        above_last=block.get("above_last", "no-answer"),
        safer=block.get("safer", ""),
        row_places=tuple(block.at("rows", index, 1) for index in range(len(block.get("rows")))),
    )


def _rows(block: Block, by_number: bool, faults: Faults) -> tuple[tuple[float | str, float], ...]:
    rows: list[tuple[float | str, float]] = []
    for index, (key, answer) in enumerate(block.get("rows")):
        place = block.at("rows", index)
        if isinstance(answer, str):
            faults.note("word-or-number", f"a row of `{block.name}` answers {shown(answer)}", "a number", place=place)
            continue
        if by_number == isinstance(key, str):
            allowed = "a number, for the table has `by_unit`" if by_number else "a word, or give the table a `by_unit`"
            faults.note("mixed-keys", f"a row of `{block.name}` has the key {shown(key)}", allowed, place=place)
            continue
        if rows and by_number and float(key) <= float(rows[-1][0]):
            faults.note(
                "not-increasing",
                f"the key {key} of `{block.name}` follows {rows[-1][0]:g}",
                "keys that grow from row to row",
                place=place,
            )
        if not by_number and any(key == other for other, _ in rows):
            faults.note(
                "duplicate-key", f"the word {shown(key)} stands twice in `{block.name}`", "one row a word", place=place
            )
        rows.append((key if isinstance(key, str) else float(key), float(answer)))
    return tuple(rows)


def _words_known(block: Block, rows: tuple[tuple[float | str, float], ...], faults: Faults) -> None:
    by = block.get("by")
    if by == BY_READING:
        known = {f.name for kind in KINDS.values() for f in kind.fields.values() if f.form in ("reading", "number")}
    else:
        found = [kind.fields[by] for kind in KINDS.values() if by in kind.fields and kind.fields[by].form == "word"]
        if not found:
            every = {f.name for kind in KINDS.values() for f in kind.fields.values() if f.form == "word"} | {BY_READING}
            faults.note(
                "unknown-field",
                f"`{block.name}` goes by `{by}`, which is no word field of any kind",
                "a word field, or numbers with `by_unit`",
                place=block.at("by"),
                advice=nearest(by, every),
            )
            return
        known = {word for field in found for word in field.words if word != UNKNOWN}
    for index, (key, _) in enumerate(rows):
        if key not in known:
            faults.note(
                "unknown-word",
                f"{shown(key)} is no word of `{by}`",
                words(sorted(known)),
                place=block.at("rows", index),
                advice=nearest(str(key), known),
            )


def _basis(block: Block, faults: Faults) -> dict[str, Any]:
    """A published value says where; a code value also when it was adopted."""
    basis: dict[str, Any] = block.get("basis", {})
    wanted: tuple[str, ...] = ("cite", "edition") if basis.get("kind") == "published" else ()
    if block.get("edit") == "code":
        wanted = ("cite", "edition", "adopted")
    missing = [key for key in wanted if not basis.get(key)]
    if missing:
        what = "code" if block.get("edit") == "code" else "published"
        faults.note(
            "basis-incomplete",
            f"the basis of `{block.name}` lacks {words(missing)}",
            f"a {what} value names {words(wanted)}",
            place=block.at("basis"),
        )
    return basis


def check_basis(block: Block, faults: Faults) -> None:
    """Hold a check or rule to the same demands on its basis as a value."""
    _basis(block, faults)
