"""Rules of a composed policy: clauses and conclusions, every name held against the rest of the policy."""

from collections.abc import Mapping
from typing import Any

from airwarrant.errors import nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.checks import fields_read, known_kind, limit_refs
from airwarrant.policy.clauses import ClauseReader
from airwarrant.policy.faults import words
from airwarrant.policy.layers import Block
from airwarrant.policy.model import Check, CheckClause, Clause, Figure, Rule, Then, WhereClause
from airwarrant.policy.references import References
from airwarrant.policy.rule_shape import THEN_HEADS
from airwarrant.policy.values import check_basis
from airwarrant.source.place import Place

_PARTS = ("when", "any", "unless")


def rules(
    blocks: Mapping[str, Block], reader: ClauseReader, references: References, figures: Mapping[str, Figure]
) -> dict[str, Rule]:
    """Build every rule, in name order."""
    built = [_rule(blocks[name], reader, references, figures) for name in sorted(blocks)]
    return {rule.name: rule for rule in built if rule}


def _rule(block: Block, reader: ClauseReader, references: References, figures: Mapping[str, Figure]) -> Rule | None:
    check_basis(block, reader.faults)
    each = block.get("each", HOUSE_KEY)
    if not known_kind(each, block.at("each"), reader.faults):
        return None
    before = len(reader.faults)
    where = reader.where(block.get("where"), each, block, "where") if "where" in block.keys else ()
    parts = {part: _clauses(block, part, each, reader) for part in _PARTS}
    then = [_then(raw, each, block, i, reader, references) for i, raw in enumerate(block.get("then"))]
    rule = Rule(
        block.name,
        block.place,
        block.layer,
        block.sourced(),
        title=block.get("title"),
        stage=block.get("stage"),
        authority=block.get("authority", "practice"),
        each=each,
        where=where or (),
        when=parts["when"],
        any=parts["any"],
        unless=parts["unless"],
        then=tuple(one for one in then if one is not None),
        clause_places={(p, i): block.at(p, i) for p in _PARTS for i in range(len(block.get(p, ())))},
    )
    _doubt_stands_alone(rule, block, reader, figures)
    return rule if len(reader.faults) == before else None


def _clauses(block: Block, part: str, each: str, reader: ClauseReader) -> tuple[Clause, ...]:
    found = [reader.clause(raw, each, block, part, i) for i, raw in enumerate(block.get(part, ()))]
    return tuple(clause for clause in found if clause is not None)


def _then(
    raw: Mapping[str, Any], each: str, block: Block, index: int, reader: ClauseReader, references: References
) -> Then | None:
    head = next(head for head in THEN_HEADS if head in raw)
    name = raw[head]
    place = block.at("then", index, head)
    if "at" in raw and reader.link(raw["at"], each, block.at("then", index, "at")) is None:
        return None
    match head:
        case "line":
            return Then(head, name, tier=raw["tier"], at=raw.get("at", "")) if reader.known_task(name, place) else None
        case "decline":
            return Then(head, name, text=raw["because"]) if _names_tasks(name, reader, place) else None
        case "hold":
            if not _names_tasks(name, reader, place):
                return None
            return Then(head, name, text=raw["until"], named=raw.get("named", ""), when=raw.get("when", ""))
        case "lift":
            return _lift(raw, each, block, index, reader)
        case "retest":
            if not _reading(name, each, reader, place):
                return None
            return Then(head, name, text=raw["how"], when=raw["when"])
        case "target":
            return Then(head, name, gate=raw.get("gate", False)) if reader.check_named(name, place) else None
        case "doubt":
            to = references.share(raw["to"], each, block.at("then", index, "to"))
            if to is None or not _reading(name, each, reader, place):
                return None
            return Then(head, name, to=to)
        case _:
            return Then(head, name, at=raw.get("at", ""))


def _lift(raw: Mapping[str, Any], each: str, block: Block, index: int, reader: ClauseReader) -> Then | None:
    name = raw["lift"]
    if name not in reader.concluded.holds and not reader.layered.broken_rules:
        holds = sorted(reader.concluded.holds)
        reader.faults.note(
            "unknown-hold",
            f"no rule holds by the name `{name}`",
            words(holds) or "a hold with `named`",
            place=block.at("then", index, "lift"),
            advice=nearest(name, holds),
        )
        return None
    if not reader.known_task(raw["for"], block.at("then", index, "for")):
        return None
    of = raw.get("of", "")
    if of and of != HOUSE_KEY and reader.link(of, each, block.at("then", index, "of")) is None:
        return None
    return Then("lift", name, text=raw["why"], for_=raw["for"], of=of)


def _names_tasks(name: str, reader: ClauseReader, place: Place) -> bool:
    """Whether ``task:x``, ``group:x`` or ``proposal`` names something there is."""
    what, _, which = name.partition(":")
    if name == "proposal":
        return True
    if what == "task":
        return reader.known_task(which, place)
    if what == "group":
        if which in reader.concluded.groups or "*" in reader.layered.broken:
            return True
        groups = sorted(reader.concluded.groups)
        reader.faults.note(
            "unknown-group",
            f"no task is of the group `{which}`",
            words(groups),
            place=place,
            advice=nearest(which, groups),
        )
        return False
    whole = [f"task:{t}" for t in sorted(reader.concluded.tasks)] + [
        f"group:{g}" for g in sorted(reader.concluded.groups)
    ]
    advice = next((f"Write `{one}`." for one in whole if one.partition(":")[2] == name), nearest(name, whole))
    reader.faults.note(
        "unknown-form", f"`{name}`", "`task:` or `group:` and a name, or `proposal`", place=place, advice=advice
    )
    return False


def _reading(name: str, each: str, reader: ClauseReader, place: Place) -> bool:
    fields = {**KINDS[HOUSE_KEY].fields, **KINDS[each].fields}
    if name in fields and fields[name].form in ("reading", "number"):
        return True
    known = [n for n, f in fields.items() if f.form in ("reading", "number")]
    reader.faults.note(
        "unknown-field",
        f"neither a {each} nor the house has a reading `{name}`",
        "a reading of the record",
        place=place,
        advice=nearest(name, known),
    )
    return False


def _doubt_stands_alone(rule: Rule, block: Block, reader: ClauseReader, figures: Mapping[str, Figure]) -> None:
    """A doubt is settled before anything is judged with it: its rule reads words, and checks it does not touch."""
    doubted = {then.name for then in rule.then if then.what == "doubt"}
    if not doubted:
        return
    for part, clauses in (("when", rule.when), ("any", rule.any), ("unless", rule.unless)):
        for index, clause in enumerate(clauses):
            if isinstance(clause, CheckClause):
                touched = doubted & _read_by(reader.checks[clause.check], figures)
                if touched:
                    reader.faults.note(
                        "doubt-circle",
                        f"rule `{rule.name}` doubts `{min(touched)}` and reads it through check `{clause.check}`",
                        "a check on another reading",
                        place=block.at(part, index),
                    )
            elif not isinstance(clause, WhereClause):
                reader.faults.note(
                    "doubt-circle",
                    f"rule `{rule.name}` doubts a reading and reads more than words and checks",
                    "`where` and `check` clauses",
                    place=block.at(part, index),
                )


def _read_by(check: Check, figures: Mapping[str, Figure]) -> frozenset[str]:
    refs = [check.reading, *(ref for limit in check.limits for ref in limit_refs(limit))]
    return frozenset().union(*(fields_read(ref, figures) for ref in refs))
