"""Jobs in which one rule fires, or fires where another does not; each was evaluated, and questions asked twice are answered once."""

from collections.abc import Iterable, Mapping
from functools import partial

from airwarrant.desks.analysis.pictures import facts_of, passing, said, smallest
from airwarrant.desks.joins import Picture, Search
from airwarrant.desks.readable import limit_of, readable
from airwarrant.errors import PolicyError
from airwarrant.policy.model import Policy, Rule
from airwarrant.rules.clauses import atoms_concluded, atoms_read, checks_read
from airwarrant.rules.facts import Firing
from airwarrant.rules.reference import evaluate

#: Pictures of one question that are evaluated before it is let go.
MOST_PICTURES = 400

Example = tuple[str, ...]


class Known:
    """Answers kept from one market to the next: most rules, and what they rest on, are the same in each."""

    def __init__(self) -> None:
        self.bodies: dict[object, int] = {}
        self.answers: dict[object, tuple[Picture | None, bool]] = {}

    def body(self, rule: Rule) -> int:
        """Return a number for what a rule says; equal rules of two markets share it."""
        key = (rule.name, rule.each, rule.where, rule.when, rule.any, rule.unless, rule.then)
        return self.bodies.setdefault(key, len(self.bodies))


class Fires:
    """Asks one policy's rules for jobs.

    Parameters
    ----------
    policy : Policy
    known : Known, optional
        Answers of other markets; an answer holds for every policy in which the rules behind it say the same.
    """

    def __init__(self, policy: Policy, known: Known | None = None) -> None:
        self._policy = policy
        self._known = known or Known()
        self._search = Search(policy.rules, partial(readable, policy))
        self._makers: dict[object, list[str]] = {}
        self._rests: dict[str, tuple[str, ...]] = {}
        for name, rule in policy.rules.items():
            for atom in atoms_concluded(rule):
                self._makers.setdefault(atom, []).append(name)
        self._bodies = {name: self._known.body(rule) for name, rule in policy.rules.items()}

    def example(self, fires: Rule, spared: Rule | None = None) -> Picture | None:
        """Return a job in which `fires` fires and, for the same thing, `spared` does not; None where no job is found."""
        return self._answer(fires, spared)[0]

    def never(self, fires: Rule, spared: Rule | None = None) -> bool:
        """Whether there is no such job; False where the search for one was given up."""
        picture, whole = self._answer(fires, spared)
        return picture is None and whole

    def _answer(self, fires: Rule, spared: Rule | None) -> tuple[Picture | None, bool]:
        """A job, or none, and whether everything was tried."""
        behind = self._behind([fires, *([spared] if spared else [])])
        limits = frozenset(
            (c, limit_of(self._policy, self._policy.checks[c])) for c in _checks(behind) if c in self._policy.checks
        )
        key = (fires.name, spared.name if spared else "", frozenset(self._bodies[name] for name in behind), limits)
        if key not in self._known.answers:
            self._known.answers[key] = self._find(fires, spared, behind)
        return self._known.answers[key]

    def said(self, picture: Picture, fires: Rule, spared: Rule | None = None) -> Example:
        """Say the smallest job that still does what `picture` does."""
        behind = self._behind([fires, *([spared] if spared else [])])
        key = next(key for key, kind in picture.kinds.items() if kind == fires.each)
        return said(smallest(self._policy, picture, {key}, lambda less: self._does(less, key, fires, spared, behind)))

    def _find(self, fires: Rule, spared: Rule | None, behind: Mapping[str, Rule]) -> tuple[Picture | None, bool]:
        picture, key = Picture().fresh(fires.each)
        found = self._search.together(picture, ((fires, key),), ((spared, key),) if spared else ())
        for count, one in enumerate(found):
            if count == MOST_PICTURES:
                return None, False
            for filled in (one, passing(self._policy, one)):
                if readable(self._policy, filled.verdicts) and self._does(filled, key, fires, spared, behind):
                    return filled, True
        return None, not self._search.gave_up

    def _does(self, picture: Picture, key: str, fires: Rule, spared: Rule | None, behind: Mapping[str, Rule]) -> bool:
        try:
            firings, _ = evaluate(behind, facts_of(picture))
        except PolicyError:  # a circle is told of by the strata, with its place
            return False
        return Firing(fires.name, key) in firings and (spared is None or Firing(spared.name, key) not in firings)

    def _behind(self, rules: Iterable[Rule]) -> dict[str, Rule]:
        """The rules themselves and all whose conclusions they read, in the end."""
        return {name: self._policy.rules[name] for rule in rules for name in self._rests_on(rule.name)}

    def _rests_on(self, name: str) -> tuple[str, ...]:
        if name not in self._rests:
            out: dict[str, None] = {}
            todo = [name]
            while todo:
                one = todo.pop()
                if one not in out:
                    out[one] = None
                    todo += (n for read in atoms_read(self._policy.rules[one]) for n in self._makers.get(read.name, ()))
            self._rests[name] = tuple(out)
        return self._rests[name]


def _checks(rules: Mapping[str, Rule]) -> frozenset[str]:
    return frozenset(check for rule in rules.values() for check, _ in checks_read(rule))
