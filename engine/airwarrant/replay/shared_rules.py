"""Rules that two policies have in common: what they conclude of one job's facts is worked out once."""

from collections.abc import Iterable, Mapping, Set
from dataclasses import fields

from airwarrant.policy.digest import ORIGIN
from airwarrant.policy.model import Rule
from airwarrant.rules.concluding import Concluding
from airwarrant.rules.engine import Memory, Outcome
from airwarrant.rules.facts import Atom, Facts, Firing
from airwarrant.rules.walk import Walk


class SharedRules(Concluding):
    """Remembers what it concluded of the last job; told the same facts again, it answers at once."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        super().__init__(rules)
        self.rules = rules
        self._run: list[tuple[Facts, Outcome]] = []
        self._memory = Memory()
        self._widened: list[tuple[Facts, tuple[Firing, ...]]] = []
        self._walked: list[tuple[Facts, Set[Atom], Walk]] = []
        self._led: list[tuple[Facts, Set[Atom], dict[tuple[str, ...], frozenset[Atom]]]] = []

    def forget(self) -> None:
        """Let go of the last job."""
        self._run.clear()
        self._memory = Memory()
        self._widened.clear()
        self._walked.clear()
        self._led.clear()

    def run(self, facts: Facts, memory: Memory) -> Outcome:
        known = next((outcome for held, outcome in self._run if held == facts), None)
        if known is None:
            before = self._memory.facts
            if before is not None and before.subjects != facts.subjects:
                self._memory = Memory()
            # One memory for every round under either policy: whatever the engine was told before, it is asked only what has moved.
            known = super().run(facts, self._memory)
            self._run.append((facts, known))
        return known

    def widen(self, facts: Facts) -> tuple[Firing, ...]:
        known = next((fired for held, fired in self._widened if held == facts), None)
        if known is None:
            known = super().widen(facts)
            self._widened.append((facts, known))
        return known

    def walk(self, facts: Facts, atoms: Set[Atom]) -> Walk:
        known = next((walked for held, of, walked in self._walked if held == facts and of == atoms), None)
        if known is None:
            known = super().walk(facts, atoms)
            self._walked.append((facts, atoms, known))
        return known

    def would_lead(
        self, facts: Facts, atoms: frozenset[Atom], verdict_key: tuple[str, str, str], words: Iterable[str]
    ) -> frozenset[Atom]:
        known = next((led for held, of, led in self._led if held == facts and of == atoms), None)
        if known is None:
            known = {}
            self._led.append((facts, atoms, known))
        asked = (*verdict_key, *words)
        if asked not in known:
            known[asked] = super().would_lead(facts, atoms, verdict_key, words)
        return known[asked]


def same_rules(one: Mapping[str, Rule], other: Mapping[str, Rule]) -> bool:
    """Whether two policies have the same rules, wherever they are written."""
    return one.keys() == other.keys() and not any(_differs(one[name], other[name]) for name in one)


def _differs(one: Rule, other: Rule) -> bool:
    return any(f.name not in ORIGIN and getattr(one, f.name) != getattr(other, f.name) for f in fields(one))
