"""What would come of a job if something that is not known were known: the lines that would then stand otherwise.

Exact for the rules as they stand, on the readings as they stand: the job is evaluated again where the answer reaches. It does not
predict the air again, so that lines which only a prediction brings are left out.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from airwarrant.desks.reads import Asked, words_of
from airwarrant.job.subject import Subject
from airwarrant.rules.clauses import AtomName, atoms_concluded, atoms_read, checks_read
from airwarrant.rules.facts import Atom, Facts, Firing, atoms_of
from airwarrant.rules.reference import fires
from airwarrant.rules.strata import strata
from airwarrant.run import Run
from airwarrant.scope.settle import Settled, settle
from airwarrant.scope.votes import votes_of

#: (check, time, subject key)
VerdictKey = tuple[str, str, str]
PROPOSAL = "proposal"
_STANDING = ("scoped", "held")


class WhatIf:
    """One evaluated job, to be asked what other answers would come to."""

    def __init__(self, run: Run) -> None:
        self._run = run
        self._rules = run.policy.rules
        by_kind: dict[str, list[Subject]] = {}
        for subject in run.subjects.values():
            by_kind.setdefault(subject.kind, []).append(subject)
        words = {key: verdict.word for key, verdict in run.verdicts.items()}
        before = run.rounds[-2].scoped if len(run.rounds) > 1 else ()
        carried = frozenset(line.partition("@")[0] for line in before)
        self._facts = Facts({kind: tuple(held) for kind, held in by_kind.items()}, words, carried)
        self._level = {name: level for level, names in enumerate(strata(self._rules)) for name in names}
        self._concludes = {name: atoms_concluded(rule) for name, rule in self._rules.items()}
        self._readers: dict[AtomName, list[str]] = {}
        self._makers: dict[AtomName, list[str]] = {}
        self._by_check: dict[tuple[str, str], list[str]] = {}
        self._by_word: dict[Asked, list[str]] = {}
        for name, rule in self._rules.items():
            for check in checks_read(rule):
                self._by_check.setdefault(check, []).append(name)
            for asked in words_of(rule):
                self._by_word.setdefault(asked, []).append(name)
            for read in atoms_read(rule):
                self._readers.setdefault(read.name, []).append(name)
            for made in self._concludes[name]:
                self._makers.setdefault(made, []).append(name)
        self._base = self._states(frozenset(run.outcome.firings), frozenset(run.outcome.atoms))

    def verdicts(self, others: Mapping[VerdictKey, str]) -> frozenset[str]:
        """Return the lines, and ``proposal``, that would stand otherwise if these verdicts had these words."""
        facts = replace(self._facts, verdicts={**self._facts.verdicts, **others})
        return self._differs(facts, (name for key in others for name in self._by_check.get(key[:2], ())))

    def word(self, key: str, field: str, word: str) -> frozenset[str]:
        """Return the same if a subject's closed word were another."""
        old = self._run.subjects[key]
        new = replace(old, words={**old.words, field: word})
        held = tuple(new if one.key == key else one for one in self._facts.of(old.kind))
        facts = replace(self._facts, subjects={**self._facts.subjects, old.kind: held})
        return self._differs(facts, self._by_word.get((old.kind, field), ()))

    def _differs(self, facts: Facts, first: Iterable[str]) -> frozenset[str]:
        touched = self._reach(first)
        firings, atoms = self._again(touched, facts)
        states = self._states(firings, atoms)
        return frozenset(line for line in states.keys() | self._base.keys() if states.get(line) != self._base.get(line))

    def _reach(self, names: Iterable[str]) -> frozenset[str]:
        """Rules that may fire otherwise: those named, and whatever reads or shares what they conclude."""
        reached: set[str] = set()
        todo = list(names)
        while todo:
            name = todo.pop()
            if name not in reached:
                reached.add(name)
                for made in self._concludes[name]:
                    todo.extend(self._readers.get(made, ()))
                    todo.extend(self._makers[made])
        return frozenset(reached)

    def _again(self, touched: Collection[str], facts: Facts) -> tuple[frozenset[Firing], frozenset[Atom]]:
        """Fire the touched rules again, stratum by stratum; what the others concluded stays."""
        names = frozenset(made for name in touched for made in self._concludes[name])
        atoms = {atom for atom in self._run.outcome.atoms if (atom.what, atom.name) not in names}
        firings = {firing for firing in self._run.outcome.firings if firing.rule not in touched}
        for level in sorted({self._level[name] for name in touched}):
            rules = [self._rules[name] for name in touched if self._level[name] == level]
            waiting = [(rule, subject) for rule in rules for subject in facts.of(rule.each)]
            size = -1
            while len(waiting) != size:
                size, still = len(waiting), []
                for rule, subject in waiting:
                    if fires(rule, subject, facts, atoms, atoms):
                        firings.add(Firing(rule.name, subject.key))
                        atoms.update(atoms_of(rule, subject))
                    else:
                        still.append((rule, subject))
                waiting = still
        return frozenset(firings), frozenset(atoms)

    def _states(self, firings: frozenset[Firing], atoms: frozenset[Atom]) -> dict[str, str]:
        """State of every line that stands, and whether the whole offer is held."""
        settled = self._settled(firings, atoms)
        states: dict[str, str] = {line.id: line.state for line in settled.lines.values() if line.state in _STANDING}
        return states | ({PROPOSAL: "held"} if settled.proposal_holds else {})

    def _settled(self, firings: frozenset[Firing], atoms: frozenset[Atom]) -> Settled:
        votes = votes_of(self._rules, sorted(firings), self._run.subjects, 1)
        findings = frozenset((atom.name, atom.key) for atom in atoms if atom.what == "finding")
        return settle(votes, self._run.policy.tasks, self._run.subjects, findings)
