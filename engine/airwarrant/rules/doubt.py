"""What a doubtful verdict decides: the lines that would appear if it had another word."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from airwarrant.policy.model import Rule
from airwarrant.rules.clauses import AtomName, atoms_concluded, atoms_read, checks_read
from airwarrant.rules.facts import Atom, Facts, atoms_of
from airwarrant.rules.reference import fires
from airwarrant.rules.strata import strata


def would_lead(
    rules: Mapping[str, Rule],
    facts: Facts,
    atoms: frozenset[Atom],
    verdict_key: tuple[str, str, str],
    words: Iterable[str],
) -> frozenset[Atom]:
    """Return the line votes that newly appear if one verdict had another of `words`. See `Doubt`."""
    return Doubt(rules).would_lead(facts, atoms, verdict_key, words)


@dataclass(frozen=True, slots=True)
class _Touched:
    """Rules a check can reach, by stratum, with all names these conclude: nothing else can change."""

    levels: tuple[tuple[Rule, ...], ...]
    names: frozenset[AtomName]


class Doubt:
    """An index of which rules a check can reach, prepared once for a policy's rules."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._rules = rules
        self._level = {name: level for level, names in enumerate(strata(rules)) for name in names}
        self._concludes = {name: atoms_concluded(rule) for name, rule in rules.items()}
        self._by_check: dict[tuple[str, str], list[str]] = {}
        self._readers: dict[AtomName, list[str]] = {}
        self._makers: dict[AtomName, list[str]] = {}
        for name, rule in rules.items():
            if not self._concludes[name]:
                continue
            for check in checks_read(rule):
                self._by_check.setdefault(check, []).append(name)
            for read in atoms_read(rule):
                self._readers.setdefault(read.name, []).append(name)
            for made in self._concludes[name]:
                self._makers.setdefault(made, []).append(name)
        self._touched = {check: self._reach(names) for check, names in self._by_check.items()}

    def would_lead(
        self, facts: Facts, atoms: frozenset[Atom], verdict_key: tuple[str, str, str], words: Iterable[str]
    ) -> frozenset[Atom]:
        """Return the line votes that newly appear if one verdict had another of `words`.

        Parameters
        ----------
        facts, atoms : Facts, frozenset of Atom
            The job and all that was concluded of it.
        verdict_key : tuple of str
            (check, time, subject key).
        words : iterable of str
            Words to try; the verdict's own is passed over.

        Returns
        -------
        frozenset of Atom
            Exact: rules the check reaches are evaluated again, also those that it would silence.
        """
        touched = self._touched.get(verdict_key[:2])
        if touched is None:
            return frozenset()
        kept = frozenset(atom for atom in atoms if (atom.what, atom.name) not in touched.names)
        lines: set[Atom] = set()
        for word in words:
            if word != facts.verdict(*verdict_key):
                other = replace(facts, verdicts={**facts.verdicts, verdict_key: word})
                lines.update(atom for atom in _again(touched, other, kept) if atom.what == "line")
        return frozenset(lines) - atoms

    def _reach(self, names: Iterable[str]) -> _Touched:
        reached: set[str] = set()
        todo = list(names)
        while todo:
            name = todo.pop()
            if name not in reached:
                reached.add(name)
                for made in self._concludes[name]:
                    todo.extend(self._readers.get(made, ()))
                    todo.extend(self._makers[made])
        concluded = frozenset(made for name in reached for made in self._concludes[name])
        if not any(what == "line" for what, _ in concluded):
            return _Touched((), frozenset())
        levels = sorted({self._level[name] for name in reached})
        by_level = tuple(
            tuple(self._rules[name] for name in sorted(reached) if self._level[name] == level) for level in levels
        )
        return _Touched(by_level, concluded)


def _again(touched: _Touched, facts: Facts, kept: frozenset[Atom]) -> set[Atom]:
    atoms = set(kept)
    for rules in touched.levels:
        waiting = [(rule, subject) for rule in rules for subject in facts.of(rule.each)]
        size = -1
        while len(atoms) != size:
            size = len(atoms)
            still = []
            for rule, subject in waiting:
                if fires(rule, subject, facts, atoms, atoms):
                    atoms.update(atoms_of(rule, subject))
                else:
                    still.append((rule, subject))
            waiting = still
    return atoms
