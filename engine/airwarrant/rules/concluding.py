"""What an evaluation asks of a policy's rules: what they conclude of facts, the walk over all, what a doubtful verdict decides."""

from collections.abc import Iterable, Mapping, Set

from airwarrant.policy.model import Rule
from airwarrant.rules.doubt import Doubt
from airwarrant.rules.engine import Engine, Memory, Outcome
from airwarrant.rules.facts import Atom, Facts
from airwarrant.rules.walk import Walked, Walker


class Concluding:
    """Rules made ready; several evaluators of the same rules may share one, one job at a time."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._engine = Engine(rules)
        self._walker = Walker(rules)
        self._doubt = Doubt(rules)

    def run(self, facts: Facts, memory: Memory) -> Outcome:
        """Fire the rules; raises as `Engine.run` does."""
        return self._engine.run(facts, memory)

    def walk(self, facts: Facts, atoms: Set[Atom]) -> tuple[Walked, ...]:
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
