"""What rules read and what they conclude: subjects, verdict words, findings, line votes."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.subject import Subject
from airwarrant.policy.model import Rule

__all__ = ["UNMEASURED", "Atom", "Facts", "Firing", "Subject", "atoms_of", "place_of"]

UNMEASURED = "unmeasured"


@dataclass(frozen=True, slots=True)
class Facts:
    """All that rules may read before they conclude anything.

    `verdicts` maps (check, time, subject key) to its word; an absent entry is ``unmeasured``. `carried` holds the tasks
    scoped in the round before. Keys are unique over all kinds; exactly one subject has kind and key ``house``.
    """

    subjects: Mapping[str, tuple[Subject, ...]]  # kind -> subjects, sorted by key
    verdicts: Mapping[tuple[str, str, str], str]
    carried: frozenset[str] = frozenset()

    def of(self, kind: str) -> tuple[Subject, ...]:
        return self.subjects.get(kind, ())

    def verdict(self, check: str, time: str, key: str) -> str:
        return self.verdicts.get((check, time, key), UNMEASURED)


class Atom(NamedTuple):
    """A conclusion other rules can read: a finding or a line vote at a place."""

    what: Literal["finding", "line"]
    name: str
    key: str


class Firing(NamedTuple):
    """A rule that fired for a subject."""

    rule: str
    subject: str


def place_of(subject: Subject, at: str) -> str:
    """Key of the place a conclusion lands at: the subject itself, or the item its link `at` names, else the house."""
    return subject.links.get(at, HOUSE_KEY) if at else subject.key


def atoms_of(rule: Rule, subject: Subject) -> tuple[Atom, ...]:
    """Findings and line votes that `rule` concludes when it fires for `subject`."""
    return tuple(
        [
            Atom("finding" if then.what == "finding" else "line", then.name, place_of(subject, then.at))
            for then in rule.then
            if then.what in ("finding", "line")
        ]
    )
