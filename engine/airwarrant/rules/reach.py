"""Which rules a change of one answer can reach, and what those come to when they are evaluated again."""

from collections.abc import Iterable, Mapping, Sequence

from airwarrant.policy.model import Rule
from airwarrant.rules.clauses import AtomName, atoms_concluded, atoms_read
from airwarrant.rules.facts import Atom, Facts, Firing, atoms_of
from airwarrant.rules.reference import fires
from airwarrant.rules.strata import components, is_ring, strata

Levels = tuple[tuple[Rule, ...], ...]


class Reach:
    """An index over a policy's rules, prepared once."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._rules = rules
        self._level = {name: level for level, names in enumerate(strata(rules)) for name in names}
        self._concludes = {name: atoms_concluded(rule) for name, rule in rules.items()}
        self._rings = frozenset(name for group in components(rules) if is_ring(group, rules) for name in group)
        self._readers: dict[AtomName, list[str]] = {}
        self._makers: dict[AtomName, list[str]] = {}
        for name, rule in rules.items():
            for read in atoms_read(rule):
                self._readers.setdefault(read.name, []).append(name)
            for made in self._concludes[name]:
                self._makers.setdefault(made, []).append(name)

    def of(self, names: Iterable[str]) -> frozenset[str]:
        """Return the rules that may fire otherwise: those named, and whatever reads or shares what they conclude."""
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

    def feeds_itself(self, name: str) -> bool:
        """Whether a rule reads, by way of others or at once, what it concludes itself."""
        return name in self._rings

    def concluded(self, names: Iterable[str]) -> frozenset[AtomName]:
        """Return all that these rules can conclude; nothing else can change."""
        return frozenset(made for name in names for made in self._concludes[name])

    def levels(self, names: Iterable[str]) -> Levels:
        """Return rules by stratum, lowest first, each stratum in order of names."""
        named = sorted(names)
        ranks = sorted({self._level[name] for name in named})
        return tuple(tuple(self._rules[name] for name in named if self._level[name] == rank) for rank in ranks)


def again(levels: Sequence[Sequence[Rule]], facts: Facts, kept: Iterable[Atom]) -> tuple[set[Firing], set[Atom]]:
    """Fire rules again, stratum by stratum, on what others concluded; return their firings, and `kept` with what they conclude."""
    firings: set[Firing] = set()
    atoms = set(kept)
    for rules in levels:
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
    return firings, atoms
