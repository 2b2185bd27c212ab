"""One pass over every rule and subject when all is concluded: what fired, what did not, and what each clause read.

The engine says what fires; the walk says why, and why not. It reads the closed set and concludes nothing. Whether a rule fires is
answered in the pass; what its clauses read is gathered when somebody asks, from the same set, which does not change any more.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Literal, NamedTuple, overload

from airwarrant.job.dictionary import UNKNOWN
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
from airwarrant.rules.facts import UNMEASURED, Atom, Facts, Firing, Subject
from airwarrant.rules.reference import equal, holds, key_of, matches, meets, value_of

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


class Walked:
    """A rule at a subject.

    Where `where_ok` is false the rule does not speak of this subject: `clauses` is empty, and `where` holds the fields
    that kept it out with their words. Else `clauses` holds all of ``when``, ``any`` and ``unless``.
    """

    __slots__ = ("_asked", "_at", "_clauses", "_closed", "fired", "rule", "where_ok")

    def __init__(self, asked: "_Asked", at: Subject, closed: "_Closed", where_ok: bool, fired: bool) -> None:
        self.rule = asked.rule.name
        self.where_ok = where_ok
        self.fired = fired
        self._asked, self._at, self._closed = asked, at, closed
        self._clauses: tuple[ClauseResult, ...] | None = None

    @property
    def subject(self) -> str:
        return self._at.key

    @property
    def where(self) -> tuple[tuple[str, str], ...]:
        rule, word = self._asked.rule, self._at.word
        return tuple((field, word(field)) for field, words in rule.where if word(field) not in words)

    @property
    def clauses(self) -> tuple[ClauseResult, ...]:
        if self._clauses is None:
            told = self._asked.told(self._at, self._closed) if self.where_ok else ()
            self._clauses = tuple(told)
        return self._clauses

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Walked) and self._said == other._said

    def __hash__(self) -> int:
        return hash((self.rule, self.subject, self.fired))

    @property
    def _said(self) -> tuple[object, ...]:
        return self.rule, self.subject, self.fired, self.where_ok, self.clauses, self.where


class Walk(Sequence[Walked]):
    """Every rule at every subject it is for, by rule and subject.

    Attributes
    ----------
    fired : frozenset of Firing
        Where a rule fires; known from the beginning.
    """

    __slots__ = ("_closed", "_spoken", "_walked", "fired")

    def __init__(self, spoken: Sequence[tuple["_Asked", Sequence[tuple[Subject, bool]]]], closed: "_Closed") -> None:
        self._spoken, self._closed = spoken, closed
        self._walked: tuple[Walked, ...] | None = None
        self.fired = frozenset(
            [
                Firing(asked.rule.name, subject.key)
                for asked, several in spoken
                for subject, where_ok in several
                if where_ok and asked.fires(subject, closed)
            ]
        )

    @property
    def _all(self) -> tuple[Walked, ...]:
        """One by one; made when somebody asks for one of them."""
        if self._walked is None:
            self._walked = tuple(
                [
                    Walked(asked, subject, self._closed, where_ok, (asked.rule.name, subject.key) in self.fired)
                    for asked, several in self._spoken
                    for subject, where_ok in several
                ]
            )
        return self._walked

    @overload
    def __getitem__(self, at: int) -> Walked: ...

    @overload
    def __getitem__(self, at: slice) -> tuple[Walked, ...]: ...

    def __getitem__(self, at: int | slice) -> Walked | tuple[Walked, ...]:
        return self._all[at]

    def __len__(self) -> int:
        return sum(len(several) for _, several in self._spoken)

    def __iter__(self) -> Iterator[Walked]:
        return iter(self._all)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Walk) and self._all == other._all

    def __hash__(self) -> int:
        return hash(self.fired)


def walk(rules: Mapping[str, Rule], facts: Facts, atoms: Set[Atom]) -> Walk:
    """Walk every rule over every subject it is for."""
    return Walker(rules).walk(facts, atoms)


class Walker:
    """The walk, prepared once for a policy's rules."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        # Many rules speak of the same subjects: which those are is asked once.
        groups: dict[tuple[str, Words], int] = {}
        self._asked = tuple(
            (_Asked(rule), groups.setdefault((rule.each, rule.where), len(groups))) for _, rule in sorted(rules.items())
        )
        self._groups = tuple(groups)

    def walk(self, facts: Facts, atoms: Set[Atom]) -> Walk:
        """Return what every rule does at every subject.

        Parameters
        ----------
        facts : Facts
            The job.
        atoms : set of Atom
            All that was concluded of it.
        """
        closed = _Closed(facts, atoms)
        subjects = {kind: sorted(held, key=_by_key) for kind, held in facts.subjects.items()}
        spoken = [[(one, matches(one, where)) for one in subjects.get(kind, ())] for kind, where in self._groups]
        return Walk([(asked, spoken[group]) for asked, group in self._asked], closed)


class _Closed:
    """The job with all its conclusions; answers that are the same for every subject are given once."""

    __slots__ = ("atoms", "facts", "held", "told", "verdicts")

    def __init__(self, facts: Facts, atoms: Set[Atom]) -> None:
        self.facts = facts
        self.atoms = atoms
        self.verdicts = facts.verdicts
        self.held: dict[_Held, bool] = {}
        self.told: dict[_Held, ClauseResult] = {}


_Held = Callable[[Subject, _Closed], bool]


def _by_key(subject: Subject) -> str:
    return subject.key


class _Asked:
    """The clauses of a rule, made ready to be answered."""

    __slots__ = ("_any", "_clauses", "_unless", "_when", "rule")

    def __init__(self, rule: Rule) -> None:
        self.rule = rule
        self._clauses = tuple((part, index, clause, _held(clause)) for part, index, clause in clauses_of(rule))
        self._when, self._any, self._unless = (
            tuple(held for at, _, _, held in self._clauses if at == part) for part in ("when", "any", "unless")
        )

    def fires(self, subject: Subject, closed: _Closed) -> bool:
        """Whether the rule, whose words fit the subject, fires for it."""
        for held in self._when:
            if not held(subject, closed):
                return False
        for held in self._unless:
            if held(subject, closed):
                return False
        return not self._any or any([held(subject, closed) for held in self._any])

    def told(self, subject: Subject, closed: _Closed) -> Iterator[ClauseResult]:
        """What each clause says of the subject, and what it read."""
        for part, index, clause, held in self._clauses:
            if not isinstance(clause, ManyClause | CarriedClause):
                yield ClauseResult(part, index, held(subject, closed), _reads(clause, subject, closed))
                continue
            if held not in closed.told:
                holds_ = held(subject, closed)
                closed.told[held] = ClauseResult(part, index, holds_, tuple(_shared_reads(clause, holds_, closed)))
            yield closed.told[held]


def _held(clause: Clause) -> _Held:
    """Answer of a clause, with what does not depend on the job looked up beforehand."""
    match clause:
        case CheckClause():
            return _verdict_held(clause)
        case FindingClause(finding, target):
            return _atom_held("finding", finding, target)
        case LineClause(task, target):
            return _atom_held("line", task, target)
        case ManyClause() | CarriedClause():
            return _shared_held(clause)
        case WhereClause(where):
            return lambda subject, closed: matches(subject, where)
        case FactClause():
            return lambda subject, closed: holds(clause, subject, closed.facts, closed.atoms, closed.atoms)


def _verdict_held(clause: CheckClause) -> _Held:
    check, time, target, words = clause.check, clause.time, clause.target, clause.is_

    def held(subject: Subject, closed: _Closed) -> bool:
        key = key_of(subject, target)
        return key is not None and closed.verdicts.get((check, time, key), UNMEASURED) in words

    return held


def _atom_held(what: Literal["finding", "line"], name: str, target: str) -> _Held:
    def held(subject: Subject, closed: _Closed) -> bool:
        key = key_of(subject, target)
        return key is not None and (what, name, key) in closed.atoms

    return held


def _shared_held(clause: ManyClause | CarriedClause) -> _Held:
    def held(subject: Subject, closed: _Closed) -> bool:
        known = closed.held.get(held)
        if known is None:
            known = closed.held[held] = holds(clause, subject, closed.facts, closed.atoms, closed.atoms)
        return known

    return held


def _reads(
    clause: CheckClause | FindingClause | LineClause | WhereClause | FactClause, subject: Subject, closed: _Closed
) -> tuple[Read, ...]:
    """What a clause that is answered subject by subject read."""
    if isinstance(clause, WhereClause):
        return tuple(_words_read(subject, clause.where))
    if isinstance(clause, FactClause):
        return _fact_reads(clause, subject, closed.facts)
    key = key_of(subject, clause.target)
    if key is None:
        return (Read("word", (subject.key, clause.target), UNKNOWN),)
    if isinstance(clause, CheckClause):
        name = (clause.check, clause.time, key)
        return (Read("verdict", name, closed.facts.verdict(*name)),)
    if isinstance(clause, FindingClause):
        return (_atom_read("finding", clause.finding, key, closed),)
    return (_atom_read("line", clause.task, key, closed),)


def _atom_read(what: Literal["finding", "line"], name: str, key: str, closed: _Closed) -> Read:
    return Read(what, (name, key), PRESENT if Atom(what, name, key) in closed.atoms else ABSENT)


def _shared_reads(clause: ManyClause | CarriedClause, held: bool, closed: _Closed) -> Iterator[Read]:
    """What a clause read that says the same for every subject."""
    if isinstance(clause, ManyClause):
        return _many_reads(clause, held, closed)
    return iter((Read("carried", (clause.task,), PRESENT if held else ABSENT),))


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
            yield _atom_read("finding", clause.finding, it.key, closed)
        elif clause.line:
            yield _atom_read("line", clause.line, it.key, closed)
        else:
            yield from _existence(it, clause.where)


def _existence(it: Subject, where: Words) -> Iterator[Read]:
    """What makes a record one that was asked for; without words its being there, under the field ``id``."""
    if where:
        return _words_read(it, where)
    return iter((Read("word", (it.key, "id"), it.key),))


def _words_read(subject: Subject, where: Words) -> Iterator[Read]:
    return (Read("word", (subject.key, field), subject.word(field)) for field, _ in where)
