"""Gates: what Python answers for the engine between strata, when nothing more can be concluded below."""

from collections.abc import Iterable

from airwarrant.job.dictionary import UNKNOWN
from airwarrant.policy.model import (
    CarriedClause,
    CheckClause,
    FactClause,
    FindingClause,
    LineClause,
    ManyClause,
    WhereClause,
    Words,
)
from airwarrant.rules.clauses import Part
from airwarrant.rules.expand import HOUSE, OWN, Gate
from airwarrant.rules.facts import Atom, Facts, Subject

_Single = CheckClause | FindingClause | LineClause | CarriedClause | FactClause | WhereClause


def open_gates(gates: Iterable[Gate], facts: Facts, atoms: frozenset[Atom]) -> tuple[tuple[str, Subject], ...]:
    """Return (kind of the gate, subject) for every gate that is open.

    Parameters
    ----------
    gates : iterable of Gate
        Gates of one stratum.
    facts : Facts
        The job.
    atoms : frozenset of Atom
        All that the strata below concluded.
    """
    closed = _Closed(facts, atoms)
    return tuple(
        (gate.kind, subject) for gate in gates for subject in facts.of(gate.each) if closed.passes(gate, subject)
    )


class _Closed:
    """The job and its conclusions so far; counts over a kind are made once."""

    def __init__(self, facts: Facts, atoms: frozenset[Atom]) -> None:
        self._facts = facts
        self._atoms = atoms
        self._counted: dict[tuple[str, Part, int], bool] = {}

    def passes(self, gate: Gate, subject: Subject) -> bool:
        if not _matches(subject, gate.where):
            return False
        for part, index, clause in gate.clauses:
            if isinstance(clause, ManyClause):
                label = (gate.kind, part, index)
                if label not in self._counted:
                    self._counted[label] = self._count(clause)
                held = self._counted[label]
            else:
                held = self._holds(clause, subject)
            if held is (part == "unless"):
                return False
        return True

    def _holds(self, clause: _Single, subject: Subject) -> bool:
        if isinstance(clause, CheckClause):
            key = _key(clause.target, subject)
            return key is not None and self._facts.verdict(clause.check, clause.time, key) in clause.is_
        if isinstance(clause, FindingClause):
            key = _key(clause.target, subject)
            return key is not None and Atom("finding", clause.finding, key) in self._atoms
        if isinstance(clause, LineClause):
            key = _key(clause.target, subject)
            return key is not None and Atom("line", clause.task, key) in self._atoms
        if isinstance(clause, CarriedClause):
            return clause.task in self._facts.carried
        if isinstance(clause, FactClause):
            return any(
                _matches(record, clause.where) and all(_equal(record, its, subject, mine) for its, mine in clause.same)
                for record in self._facts.of(clause.kind)
            )
        return _matches(subject, clause.where)

    def _count(self, clause: ManyClause) -> bool:
        asked = [record for record in self._facts.of(clause.kind) if _matches(record, clause.where)]
        good = sum(self._meets(clause, record) for record in asked)
        if clause.quantifier == "some":
            return good > 0
        return good == (len(asked) if clause.quantifier == "every" else 0)

    def _meets(self, clause: ManyClause, record: Subject) -> bool:
        if clause.check:
            return self._facts.verdict(clause.check, clause.time, record.key) in clause.is_
        if clause.finding:
            return Atom("finding", clause.finding, record.key) in self._atoms
        return not clause.line or Atom("line", clause.line, record.key) in self._atoms


def _key(target: str, subject: Subject) -> str | None:
    if target == OWN:
        return subject.key
    return HOUSE if target == HOUSE else subject.links.get(target)


def _matches(subject: Subject, where: Words) -> bool:
    return all([subject.word(field) in words for field, words in where])


def _equal(record: Subject, its: str, subject: Subject, mine: str) -> bool:
    value = _value(record, its)
    return value != UNKNOWN and value == _value(subject, mine)


def _value(subject: Subject, field: str) -> str:
    if field == "id":
        return subject.key
    return subject.links.get(field) or subject.word(field)
