"""What a doubtful verdict decides: the lines that would appear if it had another word."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from airwarrant.policy.model import CheckClause, ManyClause, Rule
from airwarrant.rules.clauses import AtomName, checks_read, clauses_of
from airwarrant.rules.facts import Atom, Facts
from airwarrant.rules.reach import Levels, Reach, again
from airwarrant.rules.reference import fires


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
class _Reader:
    """A rule that reads a check, with the words that each of its clauses on it takes."""

    rule: Rule
    takes: tuple[frozenset[str], ...]

    def tells_apart(self, one: str, other: str) -> bool:
        return any((one in words) != (other in words) for words in self.takes)


class Doubt:
    """An index of which rules a check can reach, prepared once for a policy's rules."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._reach = Reach(rules)
        self._known: dict[tuple[str, ...], tuple[frozenset[AtomName], Levels]] = {}
        by_check: dict[tuple[str, str], list[Rule]] = {}
        for rule in rules.values():
            for check in checks_read(rule):
                by_check.setdefault(check, []).append(rule)
        self._readers = {
            check: tuple(_Reader(rule, tuple(_takes(rule, check))) for rule in held)
            for check, held in by_check.items()
            if self._reach_a_line(held)
        }

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
            Exact: rules that fire otherwise, and all that they reach, are evaluated again, also those that would fall silent.
        """
        readers = self._readers.get(verdict_key[:2], ())
        now = facts.verdict(*verdict_key)
        lines: set[Atom] = set()
        for word in words:
            telling = [reader.rule for reader in readers if reader.tells_apart(now, word)]
            if telling:
                other = replace(facts, verdicts={**facts.verdicts, verdict_key: word})
                turned = tuple([rule.name for rule in telling if self._turns(rule, facts, other, atoms)])
                if turned:
                    names, levels = self._reached(turned)
                    kept = [atom for atom in atoms if atom[:2] not in names]
                    lines.update(atom for atom in again(levels, other, kept)[1] if atom.what == "line")
        return frozenset(lines) - atoms

    def _reached(self, turned: tuple[str, ...]) -> tuple[frozenset[AtomName], Levels]:
        """What rules that turn can change: all that the rules they reach conclude, and those rules by stratum."""
        known = self._known.get(turned)
        if known is None:
            reached = self._reach.of(turned)
            known = self._known[turned] = (self._reach.concluded(reached), self._reach.levels(reached))
        return known

    def _turns(self, rule: Rule, facts: Facts, other: Facts, atoms: frozenset[Atom]) -> bool:
        """Whether a rule may fire otherwise anywhere; of a rule that feeds itself, that only a whole new evaluation tells."""
        return self._reach.feeds_itself(rule.name) or any(
            fires(rule, subject, facts, atoms, atoms) != fires(rule, subject, other, atoms, atoms)
            for subject in facts.of(rule.each)
        )

    def _reach_a_line(self, rules: Iterable[Rule]) -> bool:
        reached = self._reach.of(rule.name for rule in rules)
        return any(what == "line" for what, _ in self._reach.concluded(reached))


def _takes(rule: Rule, check: tuple[str, str]) -> Iterator[frozenset[str]]:
    for _, _, clause in clauses_of(rule):
        if isinstance(clause, CheckClause | ManyClause) and (clause.check, clause.time) == check:
            yield frozenset(clause.is_)
