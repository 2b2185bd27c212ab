"""Tasks and wording of a composed policy: order without circles, holes that can be filled."""

import re
from collections.abc import Mapping

from airwarrant.errors import nearest
from airwarrant.policy.checks import circles
from airwarrant.policy.clauses import ClauseReader
from airwarrant.policy.faults import words
from airwarrant.policy.layers import Block
from airwarrant.policy.model import Need, Sourced, Table, Task
from airwarrant.policy.references import References
from airwarrant.policy.sizes import read_sizes
from airwarrant.source.place import Place

#: What a hole may ask of a check.
ASKS = ("reading", "limit", "margin", "date")
#: Key of a wording that is no text: whom it is for.
READERS = "for"
#: The hole that stands alone: the name of the place.
ALONE = ("name",)
_HOLE = re.compile(r"\{([^{}]*)\}|[{}]")


def tasks(
    blocks: Mapping[str, Block],
    tables: Mapping[str, Table],
    said: Mapping[str, Block],
    reader: ClauseReader,
    references: References,
) -> dict[str, Task]:
    """Build every task, in name order."""
    built = {name: _task(blocks[name], tables, said, reader, references) for name in sorted(blocks)}
    order = {n: [*t.after, *(need.task for need in t.needs)] for n, t in built.items()}
    for name in circles(order):
        reader.faults.note(
            "cycle", f"the task `{name}` comes after itself", "an order without circles", place=blocks[name].at("after")
        )
    return built


def wording(blocks: Mapping[str, Block], reader: ClauseReader) -> dict[str, dict[str, Sourced]]:
    """Build the wording, in name order, after checking every hole."""
    for name in sorted(blocks):
        for language, key in blocks[name].keys.items():
            if language != READERS:
                _holes(str(key.value), reader, key.place)
    return {name: blocks[name].sourced() for name in sorted(blocks)}


def _task(
    block: Block, tables: Mapping[str, Table], said: Mapping[str, Block], reader: ClauseReader, references: References
) -> Task:
    after = tuple(block.get("after", ()))
    for index, name in enumerate(after):
        reader.known_task(name, block.at("after", index))
    needs = []
    for index, raw in enumerate(block.get("needs", ())):
        reader.known_task(raw["task"], block.at("needs", index, "task"))
        finding = raw["while_finding"]
        if finding not in reader.concluded.findings and not reader.layered.broken_rules:
            reader.faults.note(
                "unknown-finding",
                f"no rule concludes `{finding}`",
                "a finding that a rule concludes",
                place=block.at("needs", index, "while_finding"),
                advice=nearest(finding, reader.concluded.findings),
            )
        needs.append(Need(raw["task"], finding))
    kinds = reader.concluded.lines.get(block.name, frozenset())
    return Task(
        block.name,
        block.place,
        block.layer,
        block.sourced(),
        title=block.get("title"),
        groups=tuple(block.get("groups", ())),
        unit_off=block.get("unit_off", False),
        changes=block.get("changes", ""),
        must_gain=block.get("must_gain", False),
        promised=block.get("promised", False),
        after=after,
        needs=tuple(needs),
        sizes=read_sizes(block, tables, said, kinds, reader.layered, references, reader.faults),
    )


def _holes(text: str, reader: ClauseReader, place: Place) -> None:
    allowed = f"{words('{' + one + '}' for one in ALONE)}, or {{check.reading}} with {words(ASKS)} of a check"
    for match in _HOLE.finditer(text):
        hole = match[1]
        if hole is None:
            reader.faults.note("bad-hole", f"a lone `{match[0]}` in the wording", allowed, place=place)
            continue
        if hole in ALONE:
            continue
        check, _, asked = hole.rpartition(".")
        known = check in reader.layered.blocks["check"]
        if asked in ASKS and (known or (check and reader.layered.may_be(check))):
            continue
        advice = nearest(asked, ASKS) if known else nearest(check or asked, [*reader.checks, *ALONE])
        reader.faults.note("bad-hole", f"the hole `{match[0]}`", allowed, place=place, advice=advice)
