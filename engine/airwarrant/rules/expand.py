"""Rules without alternatives: every rule becomes variants of plain conjunctions, which is all the engine may see.

A variant takes one clause of ``any``. Where a clause allows several words, that one of them holds is a fact of its own, which
Python states: a variant for each word would make the engine build and carry many times the nodes. What the engine cannot answer
safely (``unless``, counts over a kind, the round before, records found by other fields than their key) is folded into
one gate, a fact that Python states before the variant's stratum runs.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from airwarrant.errors import Fault, PolicyError
from airwarrant.job.dictionary import KINDS
from airwarrant.policy.model import (
    CheckClause,
    Clause,
    FactClause,
    FindingClause,
    LineClause,
    Rule,
    WhereClause,
    Words,
)
from airwarrant.rules.clauses import Part
from airwarrant.rules.durable import PATTERNS_PER_RULE, Pattern

OWN, HOUSE = "own", "house"
ONE_OF = "one-of"

Placed = tuple[Part, int, Clause]
_Kept = dict[str, tuple[str, ...]]  # field -> words it may hold


@dataclass(frozen=True, slots=True)
class Gate:
    """Clauses of one rule that Python answers, before the rule's stratum runs, for each subject that the rule speaks of."""

    kind: str
    rule: str
    each: str
    where: Words
    clauses: tuple[Placed, ...]


@dataclass(frozen=True, slots=True)
class Variant:
    """One plain conjunction of a rule: the subject's words, a gate if any, and facts that must be there."""

    rule: str
    each: str
    patterns: tuple[Pattern, ...]
    gate: Gate | None


def expand(name: str, rule: Rule) -> tuple[Variant, ...]:
    """Return the variants of `rule`.

    Raises
    ------
    PolicyError
        ``too-many-clauses``: more findings and lines are read together than one conjunction may hold.
    """
    when: list[Placed] = [("when", index, clause) for index, clause in enumerate(rule.when)]
    unless: list[Placed] = [("unless", index, clause) for index, clause in enumerate(rule.unless)]
    variants: list[Variant] = []
    for number in range(len(rule.any) or 1):
        chosen: list[Placed] = [("any", number, rule.any[number])] if rule.any else []
        variant = _alternative(name, rule, number, when + chosen, unless)
        if variant is not None:
            variants.append(variant)
    return tuple(variants)


def field_of(target: str) -> str:
    """Field of a subject's fact that holds the key of `target`."""
    return "key" if target == OWN else HOUSE if target == HOUSE else f"l:{target}"


def _alternative(name: str, rule: Rule, number: int, positive: list[Placed], unless: list[Placed]) -> Variant | None:
    """One of the alternatives; None where its clauses contradict each other."""
    own = _kept(rule.where, *(clause.where for _, _, clause in positive if isinstance(clause, WhereClause)))
    gated = list(unless)
    atoms: set[Pattern] = set()
    verdicts: dict[tuple[str, str, str], tuple[str, ...]] = {}
    records: dict[tuple[str, str], list[Words]] = {}
    source: dict[object, list[Placed]] = {}
    for placed in positive:
        clause = placed[2]
        if isinstance(clause, (FindingClause, LineClause)):
            atoms.add(_atom_pattern(clause))
        elif isinstance(clause, CheckClause):
            check = (clause.check, clause.time, field_of(clause.target))
            verdicts[check] = tuple(w for w in dict.fromkeys(clause.is_) if w in verdicts.get(check, clause.is_))
            source.setdefault(check, []).append(placed)
        elif isinstance(clause, FactClause) and (join := _key_join(clause, rule.each)):
            records.setdefault((clause.kind, join), []).append(clause.where)
            source.setdefault((clause.kind, join), []).append(placed)
        elif not isinstance(clause, WhereClause):
            gated.append(placed)
    base: dict[object, Pattern] = {}
    never = not all(own.values()) or not all(verdicts.values())
    for (check_id, time, join), words in verdicts.items():
        base[check_id, time, join] = Pattern(verdict_kind(check_id, time, words), join=join)
    for (kind, join), wheres in records.items():
        kept = _kept(*wheres)
        never |= not all(kept.values())
        base[kind, join] = Pattern(f"r:{kind}", _tests(kept), join)
    room = PATTERNS_PER_RULE - 1 - len(atoms)
    folded = list(base)[max(0, room - bool(gated)) :]
    if folded:  # what reads only the job itself may as well be answered by the gate
        folded = list(base)[max(0, room - 1) :]
    for label in folded:
        del base[label]
        gated.extend(source[label])
    if room - bool(gated) < 0:
        raise PolicyError([_too_long(rule)])
    if never:
        return None
    gate = (
        Gate(f"g:{name}:{number}", name, rule.each, rule.where, tuple(sorted(gated, key=_by_part))) if gated else None
    )
    gates = [Pattern(gate.kind, join="key")] if gate else []
    facts = (Pattern(f"s:{rule.each}", _tests(own)), *gates, *sorted(atoms), *base.values())
    return Variant(name, rule.each, _numbered(facts), gate)


def verdict_stem(check: str, time: str) -> str:
    """How the kind of every fact begins that says something of a check's verdict."""
    return f"v:{check}:{time}:"


def verdict_kind(check: str, time: str, words: Sequence[str]) -> str:
    """Kind of the fact that says that a check's verdict is one of some words."""
    return verdict_stem(check, time) + _listed(words)


def word_test(field: str, words: Sequence[str]) -> tuple[str, str]:
    """Field and word of a fact that say that a subject's field holds one of some words."""
    return (f"w:{field}", words[0]) if len(words) == 1 else (f"w:{field}={_listed(words)}", ONE_OF)


@cache
def tested(name: str) -> tuple[str, frozenset[str] | None]:
    """Field and words that `word_test` made a name of; None where the field's own word is what is stated."""
    field, several, words = name.removeprefix("w:").partition("=")
    return field, frozenset(json.loads(words)) if several else None


def _listed(words: Sequence[str]) -> str:
    return json.dumps(sorted(words), separators=(",", ":"), ensure_ascii=False)


def atom_kind(what: str, name: str) -> str:
    """Kind of the fact that says a finding or line."""
    return f"{'f' if what == 'finding' else 't'}:{name}"


def atom_of(kind: str) -> tuple[str, str] | None:
    """The finding or line whose fact is of a kind; None for what is neither."""
    form, _, name = kind.partition(":")
    what = {"f": "finding", "t": "line"}.get(form)
    return None if what is None else (what, name)


def _atom_pattern(clause: FindingClause | LineClause) -> Pattern:
    if isinstance(clause, FindingClause):
        return Pattern(atom_kind("finding", clause.finding), join=field_of(clause.target))
    return Pattern(atom_kind("line", clause.task), join=field_of(clause.target))


def _key_join(clause: FactClause, each: str) -> str:
    """Field of the subject that names the one record asked for; empty when it is not found by its key alone."""
    if len(clause.same) != 1 or clause.same[0][0] != "id":
        return ""
    mine = clause.same[0][1]
    if mine == "id":
        return "key"
    kind = KINDS.get(each)
    field = kind.fields.get(mine) if kind else None
    return f"l:{mine}" if field is not None and field.form == "link" else ""


def _kept(*wheres: Words) -> _Kept:
    kept: _Kept = {}
    for where in wheres:
        for field, words in where:
            kept[field] = tuple(word for word in dict.fromkeys(words) if word in kept.get(field, words))
    return kept


def _tests(kept: _Kept) -> tuple[tuple[str, str], ...]:
    return tuple(word_test(field, words) for field, words in sorted(kept.items()) if words)


def _numbered(patterns: tuple[Pattern, ...]) -> tuple[Pattern, ...]:
    """Give a kind that is asked for twice a kind of its own: the engine never lets one fact fill two patterns."""
    seen: dict[str, int] = {}
    numbered = []
    for pattern in patterns:
        count = seen[pattern.kind] = seen.get(pattern.kind, 0) + 1
        numbered.append(pattern if count == 1 else Pattern(f"{count}|{pattern.kind}", pattern.words, pattern.join))
    return tuple(numbered)


def _by_part(placed: Placed) -> tuple[str, int]:
    return placed[0], placed[1]


def _too_long(rule: Rule) -> Fault:
    return Fault(
        code="too-many-clauses",
        found="the rule reads too many findings and lines together",
        allowed=f"at most {PATTERNS_PER_RULE - 1}; {PATTERNS_PER_RULE - 2} beside `unless`, `some`, `every`, `none`, `carried`",
        place=rule.place,
        field=rule.name,
        advice="Let a rule make one finding of some of them, and read that here.",
    )
