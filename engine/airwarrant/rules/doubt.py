"""What a doubtful verdict decides: the lines that would appear if it had another word."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from airwarrant.policy.model import Rule
from airwarrant.rules.clauses import AtomName, checks_read
from airwarrant.rules.facts import Atom, Facts
from airwarrant.rules.reach import Levels, Reach, again


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

    levels: Levels
    names: frozenset[AtomName]


class Doubt:
    """An index of which rules a check can reach, prepared once for a policy's rules."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        reach = Reach(rules)
        by_check: dict[tuple[str, str], list[str]] = {}
        for name, rule in rules.items():
            for check in checks_read(rule):
                by_check.setdefault(check, []).append(name)
        self._touched = {check: _touched(reach, names) for check, names in by_check.items()}

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
                lines.update(atom for atom in again(touched.levels, other, kept)[1] if atom.what == "line")
        return frozenset(lines) - atoms


def _touched(reach: Reach, names: Iterable[str]) -> _Touched:
    reached = reach.of(names)
    concluded = reach.concluded(reached)
    if not any(what == "line" for what, _ in concluded):
        return _Touched((), frozenset())
    return _Touched(reach.levels(reached), concluded)
