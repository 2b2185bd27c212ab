"""Rules that contradict each other: one asks for a line that another of the same authority declines, and one job has both.

A hold beats a line and the higher of two tiers wins, so neither is a contradiction; only a line against a decline is one
(`scope/settle`). Each that is found was evaluated: the example makes both rules fire, and nothing can be left out of it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import islice

from airwarrant.desks.analysis.pictures import facts_of, passing, said, smallest, subject_of
from airwarrant.desks.joins import Picture, Search
from airwarrant.desks.readable import readable
from airwarrant.errors import Fault, PolicyError
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.policy.model import Policy, Rule, Task, Then
from airwarrant.rules.facts import Firing
from airwarrant.rules.reference import evaluate
from airwarrant.scope.settle import speaks_of
from airwarrant.scope.votes import Vote

#: Pictures of one pair that are evaluated before the pair is let go.
_MOST_PICTURES = 40


@dataclass(frozen=True, slots=True)
class Contradicting:
    """Two rules that conclude against each other in one job.

    `example` says the job: words of its record and words of its checks, and nothing that could be left out.
    """

    task: str
    asks: Rule
    declines: Rule
    example: tuple[str, ...]

    def fault(self) -> Fault:
        """The contradiction as `policy check` reports it, at the rule that declines."""
        found = (
            f"rule `{self.declines.name}` declines `{self.task}` where rule `{self.asks.name}` ({self.asks.place}) asks for it, "
            f"both of authority {self.asks.authority}: the line would be held and nobody wins"
        )
        example = "; ".join(self.example) or "in every job"
        advice = f"Both hold in this job: {example}"
        allowed = "rules that exclude each other, or one of a stricter authority"
        return Fault("contradiction", found, allowed, self.declines.place, self.declines.name, advice)


def contradictions(policy: Policy) -> tuple[Contradicting, ...]:
    """Return every pair of rules that contradict each other, by name; each pair once a task."""
    search = Search(policy.rules, partial(readable, policy))
    found = []
    for asks, line, declines, decline in _pairs(policy):
        example = _example(policy, search, asks, line, declines, decline)
        if example is not None:
            found.append(Contradicting(line.name, asks, declines, example))
    return tuple(found)


def check_contradictions(policy: Policy) -> None:
    """Raise `PolicyError` with every contradiction of a policy."""
    if found := contradictions(policy):
        raise PolicyError(one.fault() for one in found)


def _pairs(policy: Policy) -> Iterator[tuple[Rule, Then, Rule, Then]]:
    """Rules of one authority of which one asks for what the other declines."""
    for asks in policy.rules.values():
        for line in (then for then in asks.then if then.what == "line"):
            for declines in policy.rules.values():
                if declines.authority != asks.authority:
                    continue
                covering = (
                    then for then in declines.then if then.what == "decline" and _covers(then.name, policy, line.name)
                )
                if (first := next(covering, None)) is not None:
                    yield asks, line, declines, first


def _covers(target: str, policy: Policy, task: str) -> bool:
    form, _, name = target.partition(":")
    return name == task if form == "task" else form == "group" and name in policy.tasks[task].groups


def _example(
    policy: Policy, search: Search, asks: Rule, line: Then, declines: Rule, decline: Then
) -> tuple[str, ...] | None:
    picture, asker = Picture().fresh(asks.each)
    place = asker
    if line.at:
        linked = picture.linked(asker, line.at)
        picture, place = linked if linked is not None else (picture, HOUSE_KEY)
    if declines.each == picture.kinds[place]:
        decliner = place
    else:
        picture, decliner = picture.fresh(declines.each)
    wanted = (Firing(asks.name, asker), Firing(declines.name, decliner))
    for found in islice(search.together(picture, ((asks, asker), (declines, decliner))), _MOST_PICTURES):
        # What is open in the picture is unmeasured, or else passes: one of the two, where a rule bars the way.
        for filled in (found, passing(policy, found)):
            if (
                readable(policy, filled.verdicts)
                and _both(policy, filled, wanted)
                and _speaks(policy.tasks, filled, decline, decliner, line, place)
            ):
                return said(smallest(policy, filled, {asker, decliner}, lambda less: _both(policy, less, wanted)))
    return None


def _both(policy: Policy, picture: Picture, wanted: tuple[Firing, ...]) -> bool:
    try:
        firings, _ = evaluate(policy.rules, facts_of(picture))
    except PolicyError:  # a circle is told of by the strata, with its place
        return False
    return all(one in firings for one in wanted)


def _speaks(tasks: Mapping[str, Task], picture: Picture, decline: Then, decliner: str, line: Then, place: str) -> bool:
    vote = Vote("", decliner, picture.kinds[decliner], decliner, "practice", decline, 0)
    return speaks_of(decline.name, vote, line.name, subject_of(picture, place), tasks)
