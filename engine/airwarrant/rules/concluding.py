"""What an evaluation asks of a policy's rules: what they conclude of facts, the walk over all, what a doubtful verdict decides."""

from collections.abc import Iterable, Mapping, Set

from airwarrant.policy.model import Rule
from airwarrant.rules.doubt import Doubt
from airwarrant.rules.engine import Engine, Memory, Outcome
from airwarrant.rules.facts import Atom, Facts, Firing
from airwarrant.rules.walk import Walk, Walker
from airwarrant.rules.widening import widening_rules


class Concluding:
    """Rules made ready; several evaluators of the same rules may share one, one job at a time."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._engine = Engine(rules)
        widening = widening_rules(rules)
        self._widening = Engine(widening) if widening else None
        self._walker = Walker(rules)
        self._doubt = Doubt(rules)

    def run(self, facts: Facts, memory: Memory) -> Outcome:
        """Fire the rules; raises as `Engine.run` does."""
        return self._engine.run(facts, memory)

    def widen(self, facts: Facts) -> tuple[Firing, ...]:
        """Fire the rules that widen a reading's ±, and no others; raises as `Engine.run` does."""
        return self._widening.run(facts).firings if self._widening is not None else ()

    def walk(self, facts: Facts, atoms: Set[Atom]) -> Walk:
        """Go over every rule and subject once."""
        return self._walker.walk(facts, atoms)

    def would_lead(
        self, facts: Facts, atoms: frozenset[Atom], verdict_key: tuple[str, str, str], words: Iterable[str]
    ) -> frozenset[Atom]:
        """Return the line votes that newly appear if one verdict had another of `words`; see `Doubt.would_lead`."""
        return self._doubt.would_lead(facts, atoms, verdict_key, words)

    def close(self) -> None:
        """Give the engine's memory back."""
        self._engine.close()
        if self._widening is not None:
            self._widening.close()
