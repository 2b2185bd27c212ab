"""What cases cover of a policy's rules: each fired, each narrowly not, each clause the one that decided."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from airwarrant.desks.near_misses import ALL, Part, part_text, parts_of, standings
from airwarrant.policy.model import Rule
from airwarrant.run import Run
from airwarrant.source.place import Place


@dataclass(frozen=True, slots=True)
class Uncovered:
    """What no case shows of one rule.

    `clauses` are those that were never the only one against the rule, or, of `any`, never the only one that carried it.
    """

    rule: str
    place: Place
    fires: bool
    nearly: bool
    clauses: tuple[str, ...]

    def __str__(self) -> str:
        lacks = [*([] if self.fires else ["never fires"]), *([] if self.nearly else ["never narrowly fails to fire"])]
        lacks += [f"{', '.join(self.clauses)} never decides"] if self.clauses else []
        return f"{self.place}: {self.rule}: {'; '.join(lacks)}"


@dataclass(slots=True)
class Coverage:
    """Coverage of the rules of every policy that cases were run under; two markets share a rule of one name.

    `own` says which rules are counted: in a folder of one's own, those that it sets or changes.
    """

    rules: dict[str, Rule] = field(default_factory=dict)
    fired: set[str] = field(default_factory=set)
    near: set[str] = field(default_factory=set)
    decided: set[tuple[str, Part]] = field(default_factory=set)
    own: Callable[[Rule], bool] = lambda rule: True

    def note(self, run: Run) -> None:
        """Take in what one case shows."""
        # Of one name in two markets the one that counts stands, whichever comes last.
        self.rules |= {n: rule for n, rule in run.policy.rules.items() if n not in self.rules or self.own(rule)}
        for one in standings(run):
            if not one.against:
                self.fired.add(one.rule)
                if one.alone:
                    self.decided.add((one.rule, one.alone))
            elif len(one.against) == 1:
                self.near.add(one.rule)
                self.decided.add((one.rule, one.against[0]))

    def uncovered(self) -> tuple[Uncovered, ...]:
        """Return what no case shows, by rule."""
        out = []
        for name, rule in sorted(self._counted().items()):
            parts = parts_of(rule)
            lacking = tuple(part_text(part) for part in parts if (name, part) not in self.decided)
            fires, nearly = name in self.fired, name in self.near or not parts
            if lacking or not fires or not nearly:
                out.append(Uncovered(name, rule.place, fires, nearly, lacking))
        return tuple(out)

    def counts(self) -> Mapping[str, tuple[int, int]]:
        """Return (covered, all) of the rules that fire, of those that narrowly do not, and of the clauses that decide.

        A rule without any clause always fires, so it has no near miss.
        """
        rules = self._counted()
        clauses = [(name, part) for name, rule in rules.items() for part in parts_of(rule)]
        conditional = {name for name, rule in rules.items() if parts_of(rule)}
        return {
            "rules that fire": (len(self.fired & rules.keys()), len(rules)),
            "rules that narrowly do not": (len(self.near & conditional), len(conditional)),
            "clauses that decide": (_among(self.decided, clauses), len(clauses)),
        }

    def _counted(self) -> dict[str, Rule]:
        return {name: rule for name, rule in self.rules.items() if self.own(rule)}


def _among(decided: set[tuple[str, Part]], clauses: Iterable[tuple[str, Part]]) -> int:
    return sum(1 for one in clauses if one in decided and one[1][1] != ALL)
