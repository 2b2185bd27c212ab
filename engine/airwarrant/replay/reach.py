"""Reach: which of many jobs the change from one policy to another can touch at all, decided from their facts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from airwarrant.policy.model import Policy
from airwarrant.replay.facts import Facts, read_facts
from airwarrant.replay.impact import Impact, Touched
from airwarrant.replay.impacts import impacts
from airwarrant.replay.layout import Layout
from airwarrant.replay.limits_moved import checks_reading
from airwarrant.rules.clauses import checks_read


@dataclass(frozen=True, slots=True)
class Change:
    """One change as it is told: the block, who can be touched by it, and how the sentence “This cannot change a job …” ends."""

    section: str
    name: str
    title: str
    who: str
    cannot: str

    def says(self, jobs: int, touched: int) -> str:
        """The proof as a sentence, where so many jobs were held against the change and so many can be touched by it."""
        what = f"{self.section} “{self.title}”"
        if self.who == "everyone":
            return f"{what}: {self.cannot}."
        if self.who == "nobody":
            return f"{what} cannot change any job {self.cannot}."
        return f"{what} cannot change a job {self.cannot}: {jobs - touched:,} of {jobs:,}."


def told(impact: Impact) -> Change:
    """The impact without its test."""
    return Change(impact.section, impact.name, impact.title, impact.who, impact.cannot)


class Reach:
    """What the change from policy `a` to policy `b` can touch; made once for a pair of policies."""

    def __init__(self, a: Policy, b: Policy) -> None:
        self.layout = Layout(a)
        self.impacts: Sequence[Impact] = impacts(a, b, self.layout) if a.digest != b.digest else ()
        self._rules = b.rules

    @cached_property
    def checks(self) -> frozenset[str]:
        """Checks that the impacts ask facts about."""
        asked = {impact.name for impact in self.impacts if impact.section == "check"}
        for impact in self.impacts:
            if impact.section in ("parameter", "table"):
                asked.update(checks_reading(self.layout.policy, (impact.section, impact.name)))
            elif impact.section == "rule" and impact.name in self._rules:
                asked.update(check for check, _ in checks_read(self._rules[impact.name]))
        return frozenset(asked)

    @property
    def everyone(self) -> bool:
        """Whether every job has to be looked at."""
        return any(impact.who == "everyone" for impact in self.impacts)

    def hits(self, facts: Facts) -> npt.NDArray[np.bool_]:
        """Return for each impact and each job whether the one can touch the other, (impacts, jobs)."""
        out = np.zeros((len(self.impacts), len(facts)), bool)
        for at, impact in enumerate(self.impacts):
            if impact.who != "nobody":
                out[at] = impact.test(facts)
        return out

    def hits_of(self, facts: bytes) -> tuple[int, ...]:
        """Return the impacts that can touch one job whose facts were just made."""
        read, _ = read_facts([facts], self.layout)
        return tuple(np.flatnonzero(self.hits(read)[:, 0]).tolist())

    def decide(self, several: Iterable[bytes | None]) -> Touched:
        """Return for each job whether it has to be evaluated: the change can touch it, or its facts are of another policy or program."""
        facts, known = read_facts(several, self.layout)
        out = ~known
        out[known] = self.hits(facts[known]).any(axis=0)
        return out
