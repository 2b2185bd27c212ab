"""What would come of a job if something that is not known were known: the lines that would then stand otherwise.

Exact for the rules as they stand, on the readings as they stand: the job is evaluated again where the answer reaches. It does not
predict the air again, so that lines which only a prediction brings are left out.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from airwarrant.desks.near_misses import facts_of
from airwarrant.desks.reads import Asked, words_of
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.facts import Atom, Facts, Firing
from airwarrant.rules.reach import Reach, again
from airwarrant.run import Run
from airwarrant.scope.settle import Settled, settle
from airwarrant.scope.votes import votes_of

#: (check, time, subject key)
VerdictKey = tuple[str, str, str]
PROPOSAL = "proposal"
_STANDING = ("scoped", "held")


@dataclass(frozen=True, slots=True)
class Answer:
    """What would come of it: the lines, and ``proposal``, that would stand otherwise, and the scope that would stand."""

    lines: frozenset[str]
    settled: Settled


class WhatIf:
    """One evaluated job, to be asked what other answers would come to."""

    def __init__(self, run: Run) -> None:
        self._run = run
        self._rules = run.policy.rules
        self._facts = facts_of(run)
        self._reach = Reach(self._rules)
        self._by_check: dict[tuple[str, str], list[str]] = {}
        self._by_word: dict[Asked, list[str]] = {}
        for name, rule in self._rules.items():
            for check in checks_read(rule):
                self._by_check.setdefault(check, []).append(name)
            for asked in words_of(rule):
                self._by_word.setdefault(asked, []).append(name)
        #: what the rules alone scope on what was read
        self.settled = self._settled(frozenset(run.outcome.firings), frozenset(run.outcome.atoms))
        self._base = _states(self.settled)

    def verdicts(self, others: Mapping[VerdictKey, str]) -> frozenset[str]:
        """Return the lines, and ``proposal``, that would stand otherwise if these verdicts had these words."""
        return self.if_verdicts(others).lines

    def word(self, key: str, field: str, word: str) -> frozenset[str]:
        """Return the same if a subject's closed word were another."""
        return self.if_word(key, field, word).lines

    def if_verdicts(self, others: Mapping[VerdictKey, str]) -> Answer:
        """What would come of it if these verdicts had these words."""
        facts = replace(self._facts, verdicts={**self._facts.verdicts, **others})
        return self._answer(facts, (name for key in others for name in self._by_check.get(key[:2], ())))

    def if_word(self, key: str, field: str, word: str) -> Answer:
        """The same if a subject's closed word were another."""
        old = self._run.subjects[key]
        new = replace(old, words={**old.words, field: word})
        held = tuple(new if one.key == key else one for one in self._facts.of(old.kind))
        facts = replace(self._facts, subjects={**self._facts.subjects, old.kind: held})
        return self._answer(facts, self._by_word.get((old.kind, field), ()))

    def _answer(self, facts: Facts, first: Iterable[str]) -> Answer:
        touched = self._reach.of(first)
        names = self._reach.concluded(touched)
        kept = (atom for atom in self._run.outcome.atoms if (atom.what, atom.name) not in names)
        fired, atoms = again(self._reach.levels(touched), facts, kept)
        stay = {firing for firing in self._run.outcome.firings if firing.rule not in touched}
        settled = self._settled(frozenset(stay | fired), frozenset(atoms))
        states = _states(settled)
        lines = (line for line in states.keys() | self._base.keys() if states.get(line) != self._base.get(line))
        return Answer(frozenset(lines), settled)

    def _settled(self, firings: frozenset[Firing], atoms: frozenset[Atom]) -> Settled:
        votes = votes_of(self._rules, sorted(firings), self._run.subjects, 1)
        findings = frozenset((atom.name, atom.key) for atom in atoms if atom.what == "finding")
        return settle(votes, self._run.policy.tasks, self._run.subjects, findings)


def _states(settled: Settled) -> dict[str, str]:
    """State of every line that stands, and whether the whole offer is held."""
    states: dict[str, str] = {line.id: line.state for line in settled.lines.values() if line.state in _STANDING}
    return states | ({PROPOSAL: "held"} if settled.proposal_holds else {})
