"""One pass over every rule and subject when all is concluded: what fired, what did not, and what each clause read.

The engine says what fires; the walk says why, and why not. It reads the closed set and concludes nothing.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from typing import Literal, NamedTuple

from airwarrant.job.dictionary import HOUSE_KEY, UNKNOWN
from airwarrant.policy.model import (
    CarriedClause,
    CheckClause,
    Clause,
    FactClause,
    FindingClause,
    LineClause,
    ManyClause,
    Rule,
    WhereClause,
    Words,
)
from airwarrant.rules.clauses import Part, clauses_of
from airwarrant.rules.facts import Atom, Facts, Subject
from airwarrant.rules.reference import equal, holds, matches, meets, value_of

PRESENT, ABSENT = "present", "absent"


class Read(NamedTuple):
    """One thing a clause read.

    Attributes
    ----------
    what : {"verdict", "word", "finding", "line", "carried"}
        What sort of thing.
    name : tuple of str
        (check, time, key); (key, field); (finding, key); (task, key); (task,).
    word : str
        The verdict's or field's word; ``present`` or ``absent`` for the others. A link's word is the key it names.
    """

    what: Literal["verdict", "word", "finding", "line", "carried"]
    name: tuple[str, ...]
    word: str


@dataclass(frozen=True, slots=True)
class ClauseResult:
    """Whether a clause holds for a subject, and what it read. A clause over a kind lists the subjects that decided."""

    part: Part
    index: int
    holds: bool
    reads: tuple[Read, ...]


@dataclass(frozen=True, slots=True)
class Walked:
    """A rule at a subject.

    Where `where_ok` is false the rule does not speak of this subject: `clauses` is empty, and `where` holds the fields
    that kept it out with their words. Else `clauses` holds all of ``when``, ``any`` and ``unless``.
    """

    rule: str
    subject: str
    fired: bool
    where_ok: bool
    clauses: tuple[ClauseResult, ...] = ()
    where: tuple[tuple[str, str], ...] = ()


def walk(rules: Mapping[str, Rule], facts: Facts, atoms: Set[Atom]) -> tuple[Walked, ...]:
    """Walk every rule over every subject it is for; ordered by rule and subject."""
    return Walker(rules).walk(facts, atoms)


class Walker:
    """The walk, prepared once for a policy's rules."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._rules = tuple((name, rules[name], _answers(rules[name])) for name in sorted(rules))

    def walk(self, facts: Facts, atoms: Set[Atom]) -> tuple[Walked, ...]:
        """Return what every rule does at every subject, by rule and subject.

        Parameters
        ----------
        facts : Facts
            The job.
        atoms : set of Atom
            All that was concluded of it.
        """
        closed = _Closed(facts, atoms)
        subjects = {kind: sorted(held, key=_by_key) for kind, held in facts.subjects.items()}
        return tuple(
            _walked(name, rule, answers, subject, closed)
            for name, rule, answers in self._rules
            for subject in subjects.get(rule.each, ())
        )


class _Closed:
    """The job with all its conclusions; answers that are the same for every subject are given once."""

    __slots__ = ("atoms", "facts", "once", "verdicts")

    def __init__(self, facts: Facts, atoms: Set[Atom]) -> None:
        self.facts = facts
        self.atoms = atoms
        self.verdicts = facts.verdicts
        self.once: dict[_Answer, ClauseResult] = {}


_Answer = Callable[[Subject, _Closed], ClauseResult]


def _by_key(subject: Subject) -> str:
    return subject.key


def _walked(name: str, rule: Rule, answers: tuple[_Answer, ...], subject: Subject, closed: _Closed) -> Walked:
    out = [(field, word) for field, words in rule.where if (word := subject.word(field)) not in words]
    if out:
        return Walked(name, subject.key, False, False, (), tuple(out))
    results = tuple([answer(subject, closed) for answer in answers])
    fired, alternative = True, not rule.any
    for result in results:
        if result.part == "any":
            alternative = alternative or result.holds
        elif result.holds is (result.part == "unless"):
            fired = False
    return Walked(name, subject.key, fired and alternative, True, results)


def _answers(rule: Rule) -> tuple[_Answer, ...]:
    return tuple(_answer(part, index, clause) for part, index, clause in clauses_of(rule))


def _answer(part: Part, index: int, clause: Clause) -> _Answer:
    match clause:
        case CheckClause():
            return _check(part, index, clause)
        case FindingClause(finding, target):
            return _atom(part, index, "finding", finding, target)
        case LineClause(task, target):
            return _atom(part, index, "line", task, target)
        case ManyClause() | CarriedClause():
            return _once(part, index, clause)
        case WhereClause():
            return _where(part, index, clause)
        case FactClause():
            return _fact(part, index, clause)


def _check(part: Part, index: int, clause: CheckClause) -> _Answer:
    check, time, target, words = clause.check, clause.time, clause.target, clause.is_

    def answer(subject: Subject, closed: _Closed) -> ClauseResult:
        key = subject.key if target == "own" else HOUSE_KEY if target == "house" else subject.links.get(target)
        if key is None:
            return ClauseResult(part, index, False, (Read("word", (subject.key, target), UNKNOWN),))
        word = closed.verdicts.get((check, time, key), "unmeasured")
        return ClauseResult(part, index, word in words, (Read("verdict", (check, time, key), word),))

    return answer


def _atom(part: Part, index: int, what: Literal["finding", "line"], name: str, target: str) -> _Answer:
    def answer(subject: Subject, closed: _Closed) -> ClauseResult:
        key = subject.key if target == "own" else HOUSE_KEY if target == "house" else subject.links.get(target)
        if key is None:
            return ClauseResult(part, index, False, (Read("word", (subject.key, target), UNKNOWN),))
        there = Atom(what, name, key) in closed.atoms
        return ClauseResult(part, index, there, (Read(what, (name, key), PRESENT if there else ABSENT),))

    return answer


def _where(part: Part, index: int, clause: WhereClause) -> _Answer:
    def answer(subject: Subject, closed: _Closed) -> ClauseResult:
        return ClauseResult(part, index, matches(subject, clause.where), tuple(_words_read(subject, clause.where)))

    return answer


def _fact(part: Part, index: int, clause: FactClause) -> _Answer:
    def answer(subject: Subject, closed: _Closed) -> ClauseResult:
        held = holds(clause, subject, closed.facts, closed.atoms, closed.atoms)
        return ClauseResult(part, index, held, _fact_reads(clause, subject, closed.facts))

    return answer


def _once(part: Part, index: int, clause: ManyClause | CarriedClause) -> _Answer:
    def answer(subject: Subject, closed: _Closed) -> ClauseResult:
        result = closed.once.get(answer)
        if result is None:
            held = holds(clause, subject, closed.facts, closed.atoms, closed.atoms)
            if isinstance(clause, ManyClause):
                reads = tuple(_many_reads(clause, held, closed))
            else:
                reads = (Read("carried", (clause.task,), PRESENT if held else ABSENT),)
            result = closed.once[answer] = ClauseResult(part, index, held, reads)
        return result

    return answer


def _fact_reads(clause: FactClause, subject: Subject, facts: Facts) -> tuple[Read, ...]:
    """Words of the records found; of those whose words were wrong; or my own fields, when no record equals them."""
    records = facts.of(clause.kind)
    found = [it for it in records if equal(it, subject, clause.same)]
    good = [it for it in found if matches(it, clause.where)]
    if not found:
        return tuple(Read("word", (subject.key, mine), value_of(subject, mine)) for _, mine in clause.same)
    return tuple(read for it in good or found for read in _existence(it, clause.where))


def _many_reads(clause: ManyClause, held: bool, closed: _Closed) -> Iterator[Read]:
    kind = closed.facts.of(clause.kind)
    asked = [it for it in kind if matches(it, clause.where)]
    # `some` that holds and `none` that fails are decided by those that meet the test; `every` that fails by those that
    # do not; the other outcomes by all that were asked.
    deciding: Iterable[Subject] = asked
    if (clause.quantifier == "some" and held) or (clause.quantifier == "none" and not held):
        deciding = [it for it in asked if meets(clause, it, closed.facts, closed.atoms)]
    elif clause.quantifier == "every" and not held:
        deciding = [it for it in asked if not meets(clause, it, closed.facts, closed.atoms)]
    if not asked:
        for it in kind:
            yield from _words_read(it, clause.where)
        return
    for it in deciding:
        if clause.check:
            name = (clause.check, clause.time, it.key)
            yield Read("verdict", name, closed.facts.verdict(*name))
        elif clause.finding:
            there = Atom("finding", clause.finding, it.key) in closed.atoms
            yield Read("finding", (clause.finding, it.key), PRESENT if there else ABSENT)
        elif clause.line:
            there = Atom("line", clause.line, it.key) in closed.atoms
            yield Read("line", (clause.line, it.key), PRESENT if there else ABSENT)
        else:
            yield from _existence(it, clause.where)


def _existence(it: Subject, where: Words) -> Iterator[Read]:
    """What makes a record one that was asked for; without words its being there, under the field ``id``."""
    if where:
        return _words_read(it, where)
    return iter((Read("word", (it.key, "id"), it.key),))


def _words_read(subject: Subject, where: Words) -> Iterator[Read]:
    return (Read("word", (subject.key, field), subject.word(field)) for field, _ in where)
