"""What rules conclude of facts, and the walk over every rule on the closed set: the two things an evaluation asks of a policy's rules."""

from collections.abc import Mapping, Set

from airwarrant.policy.model import Rule
from airwarrant.rules.engine import Engine, Memory, Outcome
from airwarrant.rules.facts import Atom, Facts
from airwarrant.rules.walk import Walked, Walker


class Concluding:
    """Rules made ready; several evaluators of the same rules may share one, one job at a time."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._engine = Engine(rules)
        self._walker = Walker(rules)

    def run(self, facts: Facts, memory: Memory) -> Outcome:
        """Fire the rules; raises as `Engine.run` does."""
        return self._engine.run(facts, memory)

    def walk(self, facts: Facts, atoms: Set[Atom]) -> tuple[Walked, ...]:
        """Go over every rule and subject once."""
        return self._walker.walk(facts, atoms)

    def close(self) -> None:
        """Give the engine's memory back."""
        self._engine.close()
