"""Votes: what each firing says, before anything is settled."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from airwarrant.policy.model import AUTHORITIES, Rule, Then
from airwarrant.rules.facts import Firing, Subject, place_of


class Vote(NamedTuple):
    """One conclusion of one firing.

    `place` is the key of the record it speaks of; `kind` that record's kind; `round` the round in which it was cast.
    """

    rule: str
    subject: str
    kind: str
    place: str
    authority: str
    then: Then
    round: int

    @property
    def rank(self) -> int:
        """0 is the strictest authority."""
        return AUTHORITIES.index(self.authority)

    @property
    def firing(self) -> str:
        return f"{self.rule}@{self.subject}"


def votes_of(
    rules: Mapping[str, Rule], firings: Iterable[Firing], subjects: Mapping[str, Subject], round_: int
) -> tuple[Vote, ...]:
    """All conclusions of the firings but findings, in the order of the firings."""
    votes = []
    for firing in firings:
        rule, subject = rules[firing.rule], subjects[firing.subject]
        for then in rule.then:
            if then.what == "finding":
                continue
            place = place_of(subject, then.at)
            votes.append(Vote(rule.name, subject.key, subjects[place].kind, place, rule.authority, then, round_))
    return tuple(votes)
