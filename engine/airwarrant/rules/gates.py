"""Gates: what Python answers for the engine between strata, when nothing more can be concluded below."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

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
from airwarrant.rules.clauses import Part, atom_name
from airwarrant.rules.expand import HOUSE, OWN, Gate
from airwarrant.rules.facts import Atom, Facts, Subject

_Single = CheckClause | FindingClause | LineClause | CarriedClause | FactClause | WhereClause


class Opened(NamedTuple):
    """What a stratum's gates let through: the subjects of each gate, and the conclusions below that it was answered from."""

    atoms: frozenset[Atom]
    subjects: tuple[tuple[Subject, ...], ...]


class Gates:
    """The gates of one stratum, with what each of them reads.

    Parameters
    ----------
    gates : iterable of Gate
    """

    def __init__(self, gates: Iterable[Gate]) -> None:
        self._gates = tuple((gate, frozenset(_names_read(gate))) for gate in gates)

    def open(
        self, facts: Facts, atoms: frozenset[Atom], before: Opened | None, moved: frozenset[tuple[str, str]]
    ) -> Opened:
        """Answer every gate for every subject of its kind.

        Parameters
        ----------
        facts : Facts
            The job.
        atoms : frozenset of Atom
            All that the strata below concluded.
        before : Opened, optional
            Of the round before, for the same subjects: a gate that reads nothing that has moved is not answered again.
        moved : frozenset of (str, str)
            Checks, as (check, time), of which some word is another now, and `CARRIED` where other tasks are carried.
        """
        closed = _Closed(facts, atoms)
        if before is not None:
            moved |= {(atom.what, atom.name) for atom in before.atoms ^ atoms}
        opened = []
        for number, (gate, reads) in enumerate(self._gates):
            if before is not None and reads.isdisjoint(moved):
                opened.append(before.subjects[number])
            else:
                opened.append(tuple([it for it in facts.of(gate.each) if closed.passes(gate, it)]))
        return Opened(atoms, tuple(opened))

    def told(self, opened: Opened) -> tuple[tuple[str, Subject], ...]:
        """Return (kind of the gate, subject) for every gate that is open."""
        pairs = zip(self._gates, opened.subjects, strict=True)
        return tuple([(gate.kind, subject) for (gate, _), subjects in pairs for subject in subjects])


#: Stands for the tasks of the round before among what a gate reads.
CARRIED = ("carried", "")


def _names_read(gate: Gate) -> Iterator[tuple[str, str]]:
    for _, _, clause in gate.clauses:
        name = atom_name(clause)
        if name is not None:
            yield name
        if isinstance(clause, CheckClause) or (isinstance(clause, ManyClause) and clause.check):
            yield clause.check, clause.time
        if isinstance(clause, CarriedClause):
            yield CARRIED


class _Closed:
    """The job and its conclusions so far; counts over a kind are made once."""

    def __init__(self, facts: Facts, atoms: frozenset[Atom]) -> None:
        self._facts = facts
        self._atoms = atoms
        self._counted: dict[tuple[str, Part, int], bool] = {}

    def passes(self, gate: Gate, subject: Subject) -> bool:
        if gate.where and not _matches(subject, gate.where):
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
            return key is not None and ("finding", clause.finding, key) in self._atoms
        if isinstance(clause, LineClause):
            key = _key(clause.target, subject)
            return key is not None and ("line", clause.task, key) in self._atoms
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
            return ("finding", clause.finding, record.key) in self._atoms
        return not clause.line or ("line", clause.line, record.key) in self._atoms


def _key(target: str, subject: Subject) -> str | None:
    if target == OWN:
        return subject.key
    return HOUSE if target == HOUSE else subject.links.get(target)


def _matches(subject: Subject, where: Words) -> bool:
    # Asked thousands of times a job: a loop takes half the time of `all`.
    word = subject.words.get
    for field, words in where:  # noqa: SIM110
        if word(field, UNKNOWN) not in words:
            return False
    return True


def _equal(record: Subject, its: str, subject: Subject, mine: str) -> bool:
    value = _value(record, its)
    return value != UNKNOWN and value == _value(subject, mine)


def _value(subject: Subject, field: str) -> str:
    if field == "id":
        return subject.key
    return subject.links.get(field) or subject.word(field)
