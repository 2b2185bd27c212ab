"""Firing a policy's rules for one job through durable-rules."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import count
from types import TracebackType
from typing import Self

from airwarrant.errors import EngineFault, PolicyError
from airwarrant.job.dictionary import UNKNOWN
from airwarrant.policy.model import CheckClause, Rule
from airwarrant.rules.chunks import pack, ranked
from airwarrant.rules.clauses import atoms_concluded, clauses_of
from airwarrant.rules.durable import DurableRule, Ruleset, Statement
from airwarrant.rules.expand import ONE_OF, Variant, expand, tested
from airwarrant.rules.facts import UNMEASURED, Atom, Facts, Firing, Subject, atoms_of
from airwarrant.rules.gates import CARRIED, Gates, Opened
from airwarrant.rules.statements import Keys, Read, Reading, Words
from airwarrant.rules.strata import components, strata

Support = tuple[tuple[str | int, ...], ...]
#: What facts call a test of a subject's word, the subject's field, and the words it may hold; None where its word is stated.
_Field = tuple[str, str, frozenset[str] | None]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What fired for one job, and why.

    Attributes
    ----------
    firings : tuple of Firing
        In order of rule and subject.
    atoms : frozenset of Atom
        Findings and line votes concluded.
    strata : mapping of str to int
        Each rule's stratum.
    supports : mapping of Firing to tuple
        For each alternative that matched, the facts it read: ``("word", key, field, word)``,
        ``("verdict", check, time, key, word)``, ``("finding", name, key)``, ``("line", task, key)``,
        ``("record", kind, key)``, ``("gate", part, index)`` for a clause that was answered over the closed set.
    """

    firings: tuple[Firing, ...]
    atoms: frozenset[Atom]
    strata: Mapping[str, int]
    supports: Mapping[Firing, tuple[Support, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class _Chunk:
    ruleset: Ruleset
    variants: Mapping[str, Variant]  # by the name the engine knows
    kinds: Mapping[str, int]  # how many of the variants are over each kind
    reading: Reading


@dataclass(frozen=True, slots=True, eq=False)
class _Stratum:
    gates: Gates
    chunks: list[_Chunk]


@dataclass(frozen=True, slots=True)
class _Told:
    """What a chunk was told besides the subjects, from which gates and conclusions, and what came of it."""

    gates: tuple[tuple[str, Subject], ...]
    read: frozenset[Atom]
    said: Mapping[Statement, Read]
    supports: Sequence[tuple[Firing, Support]]
    atoms: Set[Atom]


class Memory:
    """What an engine was told of one job and what it answered: told the same again, it is not asked again.

    For one engine and one job, whose subjects stay as they are.
    """

    def __init__(self) -> None:
        self.keys = Keys()
        self.facts: Facts | None = None
        self.words: Mapping[str, Words] = {}
        self.subjects: dict[_Chunk, Mapping[Statement, Read]] = {}
        self.told: dict[_Chunk, _Told] = {}
        self.opened: dict[_Stratum, Opened] = {}


class Engine:
    """A policy's rules, compiled once; runs any number of jobs, one at a time.

    Close it, or use it in a ``with`` block, to give the engine's memory back.

    Parameters
    ----------
    rules : mapping of str to Rule
        Rules by name.

    Raises
    ------
    PolicyError
        ``cycle``, ``too-many-clauses``, ``group-too-large``.
    EngineFault
        The rules leave what the engine can do safely.
    """

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._rules = dict(rules)
        levels = strata(rules)
        self._level = {name: level for level, names in enumerate(levels) for name in names}
        variants = {name: expand(name, rules[name]) for name in sorted(rules)}
        groups = components(rules)
        ranks = ranked(groups, rules)
        names = (f"r{number}" for number in count())
        self._strata: list[_Stratum] = []
        try:
            for level in range(len(levels)):
                here = [group for group in groups if self._level[group[0]] == level]
                here.sort(key=lambda group: ranks[group[0]])
                early = [group for group in here if not ranks[group[0]].late]
                gates = {v.gate.kind: v.gate for group in here for name in group for v in variants[name] if v.gate}
                self._strata.append(_Stratum(Gates(gates.values()), []))
                for chunk in (*pack(early, variants, rules), *pack(here[len(early) :], variants, rules)):
                    self._strata[-1].chunks.append(self._build({next(names): variant for variant in chunk}))
        except (EngineFault, PolicyError):
            self.close()
            raise
        read = {one for stratum in self._strata for chunk in stratum.chunks for one in chunk.reading.words}
        self._fields: dict[str, list[_Field]] = {}
        for kind, name in sorted(read):
            self._fields.setdefault(kind, []).append((name, *tested(name)))

    def _build(self, variants: Mapping[str, Variant]) -> _Chunk:
        read_here = {variant.rule for variant in variants.values()}
        verdicts = {
            (self._rules[name].each, clause.check, clause.time, clause.target)
            for name in read_here
            for _, _, clause in clauses_of(self._rules[name])
            if isinstance(clause, CheckClause)
        }
        ruleset = Ruleset([DurableRule(name, variant.patterns) for name, variant in variants.items()])
        kinds = Counter(variant.each for variant in variants.values())
        concluded = {name for rule in read_here for name in atoms_concluded(self._rules[rule])}
        return _Chunk(ruleset, variants, kinds, Reading(tuple(variants.values()), verdicts, concluded))

    def run(self, facts: Facts, memory: Memory | None = None) -> Outcome:
        """Fire the rules for one job.

        Parameters
        ----------
        facts : Facts
        memory : Memory, optional
            Of the rounds before.

        Raises
        ------
        EngineFault
            The engine did something that must not happen; nothing of the job's outcome is to be used.
        """
        memory = memory or Memory()
        if not memory.words:
            memory.words = self._words_of(facts)
        run = _Run(self._rules, facts, memory)
        for stratum in self._strata:
            gates = run.gates(stratum)
            for chunk in stratum.chunks:
                run.chunk(chunk, gates)
        firings = tuple(sorted(run.supports))
        supports = {firing: _ordered(run.supports[firing]) for firing in firings}
        return Outcome(firings, frozenset(run.atoms), self._level, supports)

    def _words_of(self, facts: Facts) -> dict[str, Words]:
        """What every subject meets of the tests of words that rules make, by its key."""
        return {
            subject.key: _words(subject, self._fields.get(kind, ()))
            for kind, subjects in facts.subjects.items()
            for subject in subjects
        }

    def close(self) -> None:
        """Give the engine's memory back; the engine cannot be used afterwards."""
        for stratum in self._strata:
            for chunk in stratum.chunks:
                chunk.ruleset.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


class _Run:
    """One job on its way through the strata."""

    def __init__(self, rules: Mapping[str, Rule], facts: Facts, memory: Memory) -> None:
        self.atoms: set[Atom] = set()
        self.supports: dict[Firing, list[Support]] = {}
        self._rules = rules
        self._facts = facts
        self._memory = memory
        self._keys = memory.keys
        self._subjects = {subject.key: subject for subjects in facts.subjects.values() for subject in subjects}
        #: of what rules read, all that is not what it was a round before
        self._moved = _moved(memory.facts, facts)
        memory.facts = facts

    def gates(self, stratum: _Stratum) -> tuple[tuple[str, Subject], ...]:
        """The open gates of a stratum, when all below it is concluded."""
        before = self._memory.opened.get(stratum)
        opened = stratum.gates.open(self._facts, frozenset(self.atoms), before, self._moved)
        self._memory.opened[stratum] = opened
        return stratum.gates.told(opened)

    def chunk(self, chunk: _Chunk, gates: tuple[tuple[str, Subject], ...]) -> None:
        told = self._told(chunk, chunk.reading.gates(gates), chunk.reading.atoms(self.atoms))
        for firing, support in told.supports:
            self.supports.setdefault(firing, []).append(support)
        self.atoms |= told.atoms

    def _told(self, chunk: _Chunk, gates: tuple[tuple[str, Subject], ...], read: frozenset[Atom]) -> _Told:
        """What a chunk answers: as before where nothing that it reads has moved."""
        known = self._memory.told.get(chunk)
        if (
            known is not None
            and (known.gates, known.read) == (gates, read)
            and self._moved.isdisjoint(chunk.reading.checks)
        ):
            return known
        said = chunk.reading.said(self._facts, read, gates, self._keys)
        if known is None or known.said != said:
            known = self._memory.told[chunk] = self._asked(chunk, gates, read, said)
        return known

    def _asked(
        self,
        chunk: _Chunk,
        gates: tuple[tuple[str, Subject], ...],
        read: frozenset[Atom],
        said: Mapping[Statement, Read],
    ) -> _Told:
        """Put a chunk to the engine."""
        subjects = self._memory.subjects.get(chunk)
        if subjects is None:
            subjects = chunk.reading.subjects(self._facts, self._keys, self._memory.words)
            self._memory.subjects[chunk] = subjects
        stated = {**subjects, **said}
        supports: list[tuple[Firing, Support]] = []
        atoms: set[Atom] = set()
        usable = chunk.reading.usable(stated)
        if not usable:
            return _Told(gates, read, said, supports, atoms)

        def conclude(name: str, matched: tuple[Statement, ...]) -> tuple[Statement, ...]:
            variant = chunk.variants[name]
            reads = [stated[statement] for statement in matched]
            subject = self._subjects[reads[0][2]]
            supports.append((Firing(variant.rule, subject.key), _support(variant, subject, reads)))
            added: dict[Statement, Read] = {}
            for atom in atoms_of(self._rules[variant.rule], subject):
                if atom not in self.atoms and atom not in atoms:
                    added.update(chunk.reading.concluded(atom, self._keys))
                # Also what others have concluded: in a later round they may not.
                atoms.add(atom)
            stated.update(added)
            return tuple(added)

        most = sum(times * len(self._facts.of(kind)) for kind, times in chunk.kinds.items())
        chunk.ruleset.run(sorted(usable), conclude, most)
        return _Told(gates, read, said, supports, atoms)


def _words(subject: Subject, fields: Iterable[_Field]) -> Words:
    own = subject.words
    found = []
    for name, field, several in fields:
        word = own.get(field, UNKNOWN)
        if several is None:
            found.append((name, word))
        elif word in several:
            found.append((name, ONE_OF))
    return frozenset(found)


def _moved(before: Facts | None, now: Facts) -> frozenset[tuple[str, str]]:
    """(check, time) of every verdict whose word is another, and `CARRIED` where other tasks are carried."""
    if before is None:
        return frozenset()
    old, new = before.verdicts, now.verdicts
    moved = {key[:2] for key in old.keys() | new.keys() if old.get(key, UNMEASURED) != new.get(key, UNMEASURED)}
    return frozenset(moved if before.carried == now.carried else {*moved, CARRIED})


def _ordered(supports: list[Support]) -> tuple[Support, ...]:
    return tuple(sorted(supports, key=repr) if len(supports) > 1 else supports)


def _support(variant: Variant, subject: Subject, reads: list[Read]) -> Support:
    fields = [tested(name)[0] for name, _ in variant.patterns[0].words]
    words = [("word", subject.key, field, subject.word(field)) for field in fields]
    support: list[tuple[str | int, ...]] = list(words)
    for read in reads[1:]:
        if read[0] == "gate" and variant.gate is not None:
            support.extend(("gate", part, index) for part, index, _ in variant.gate.clauses)
        elif read[0] == "subject":
            support.append(("record", *read[1:]))
        else:
            support.append(read)
    return tuple(support)
