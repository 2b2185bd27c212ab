"""Settle: the one place where votes become one state a line, and the one place that knows precedence.

The strictest authority that speaks of a line decides it. At one authority a hold beats a line, the higher of two tiers
wins, and a line against a decline is a contradiction: it is reported and the line is held.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from airwarrant.policy.model import TIERS, Task
from airwarrant.rules.facts import Subject
from airwarrant.scope.votes import Vote

State = Literal["scoped", "held", "declined", "left-out"]


@dataclass(frozen=True, slots=True)
class Hold:
    """Why a line cannot be offered yet."""

    name: str
    until: str
    rule: str
    subject: str
    when: str = ""


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A line and a decline at one authority; nobody wins."""

    line: str
    rules: tuple[str, ...]
    authority: str


@dataclass(frozen=True, slots=True)
class Line:
    """One line of work and its state, with who won and who lost."""

    task: str
    place: str
    tier: str
    state: State
    won: Vote
    lost: tuple[Vote, ...] = ()
    held_by: tuple[Hold, ...] = ()
    lifted: tuple[Vote, ...] = ()
    pruned: float | None = None

    @property
    def id(self) -> str:
        return f"{self.task}@{self.place}"


@dataclass(frozen=True, slots=True)
class Settled:
    """What the votes came to."""

    lines: Mapping[str, Line]
    contradictions: tuple[Contradiction, ...]
    proposal_holds: tuple[Hold, ...]
    overruled_left_out: tuple[str, ...] = ()
    declines: Mapping[str, Vote] = field(default_factory=dict)

    def active(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines.values() if line.state == "scoped")


def speaks_of(target: str, vote: Vote, task: str, place: Subject, tasks: Mapping[str, Task]) -> bool:
    """Whether a decline or hold of `target` speaks of a line of `task` at `place`.

    A vote from a record of the same kind as the place speaks of its own place only; from the house, or from a record of
    another kind (a combustion zone about returns), of every place.
    """
    form, _, name = target.partition(":")
    if form == "task" and name != task:
        return False
    if form == "group" and name not in tasks[task].groups:
        return False
    if form not in ("task", "group"):
        return False
    return vote.kind == "house" or vote.kind != place.kind or vote.place == place.key


def settle(
    votes: Iterable[Vote],
    tasks: Mapping[str, Task],
    subjects: Mapping[str, Subject],
    findings: frozenset[tuple[str, str]],
    left_out: frozenset[str] = frozenset(),
) -> Settled:
    """Turn votes into one state a line.

    Parameters
    ----------
    votes : iterable of Vote
    tasks : mapping of task name to Task
    subjects : mapping of key to Subject
    findings : set of (finding, key)
    left_out : set of line ids
        Lines the homeowner declined or the estimator overrode. A line that safety or code requires stays, and one that is promised.
    """
    votes = tuple(votes)
    proposals: dict[tuple[str, str], list[Vote]] = {}
    for vote in votes:
        if vote.then.what == "line":
            proposals.setdefault((vote.then.name, vote.place), []).append(vote)
    holds = [v for v in votes if v.then.what == "hold"]
    declines = [v for v in votes if v.then.what == "decline"]
    lifts = [v for v in votes if v.then.what == "lift"]
    lines: dict[str, Line] = {}
    contradictions: list[Contradiction] = []
    for (task, place), for_it in sorted(proposals.items()):
        line, contradiction = _settle_line(
            task,
            subjects[place],
            for_it,
            [v for v in declines if speaks_of(v.then.name, v, task, subjects[place], tasks)],
            [v for v in holds if speaks_of(v.then.name, v, task, subjects[place], tasks)],
            lifts,
            subjects,
        )
        lines[line.id] = line
        if contradiction:
            contradictions.append(contradiction)
    overruled = tuple(i for i in sorted(left_out & lines.keys()) if _stays(lines[i], tasks))
    for line_id in left_out & lines.keys() - set(overruled):
        if lines[line_id].state != "declined":
            lines[line_id] = replace(lines[line_id], state="left-out")
    _apply_needs(lines, tasks, findings)
    whole = tuple(hold_of(v) for v in holds if v.then.name == "proposal")
    return Settled(lines, tuple(contradictions), whole, overruled, {f"{v.firing}": v for v in declines})


def _stays(line: Line, tasks: Mapping[str, Task]) -> bool:
    return line.won.authority in ("safety", "code") or tasks[line.task].promised


def _settle_line(
    task: str,
    place: Subject,
    for_it: list[Vote],
    against: list[Vote],
    holds: list[Vote],
    lifts: list[Vote],
    subjects: Mapping[str, Subject],
) -> tuple[Line, Contradiction | None]:
    lifted_by = [v for v in lifts if v.then.for_ == task and (v.kind != place.kind or v.place == place.key)]
    standing, lifted = [], []
    for hold in holds:
        lift = next((v for v in lifted_by if _lifts(v, hold, subjects)), None)
        if lift:
            lifted.append(lift)
        else:
            standing.append(hold)
    by_rank = sorted([*for_it, *against, *standing], key=lambda v: (v.rank, v.rule, v.subject))
    rank = by_rank[0].rank
    strict = [v for v in by_rank if v.rank == rank]
    best = min(for_it, key=lambda v: (v.rank, TIERS.index(v.then.tier), v.rule, v.subject))

    def settled(state: State, won: Vote, held_by: tuple[Hold, ...] = ()) -> Line:
        lost = tuple(v for v in by_rank if v is not won)
        return Line(task, place.key, best.then.tier, state, won, lost, held_by, tuple(lifted))

    strict_holds = [v for v in strict if v.then.what == "hold"]
    strict_declines = [v for v in strict if v.then.what == "decline"]
    strict_lines = [v for v in strict if v.then.what == "line"]
    if strict_declines and strict_lines:
        rules = tuple(dict.fromkeys(v.rule for v in (*strict_lines, *strict_declines)))
        held = Hold("contradiction", "the policy no longer contradicts itself", rules[0], strict[0].subject)
        contradiction = Contradiction(f"{task}@{place.key}", rules, strict[0].authority)
        return settled("held", best, (held, *map(hold_of, strict_holds))), contradiction
    if strict_holds:
        # Holds of a weaker authority stand as well: each must be met before the line can be offered.
        weaker = [v for v in standing if v not in strict_holds and v.rank < best.rank]
        return settled("held", strict_holds[0], tuple(map(hold_of, (*strict_holds, *weaker)))), None
    if strict_declines:
        return settled("declined", strict_declines[0]), None
    return settled("scoped", best), None


def _lifts(lift: Vote, hold: Vote, subjects: Mapping[str, Subject]) -> bool:
    if lift.then.name != hold.then.named:
        return False
    return not lift.then.of or subjects[lift.subject].links.get(lift.then.of) == hold.subject


def hold_of(vote: Vote) -> Hold:
    """The hold that a vote casts; without a name of its own it goes by its rule."""
    return Hold(vote.then.named or vote.rule, vote.then.text, vote.rule, vote.subject, vote.then.when)


def _apply_needs(lines: dict[str, Line], tasks: Mapping[str, Task], findings: frozenset[tuple[str, str]]) -> None:
    """Hold every line whose prerequisite is not in the scope, until nothing changes: a held prerequisite holds too."""
    found = {name for name, _ in findings}
    changed = True
    while changed:
        changed = False
        active = {line.task for line in lines.values() if line.state == "scoped"}
        for line_id, line in lines.items():
            if line.state != "scoped":
                continue
            lacking = [
                need for need in tasks[line.task].needs if need.while_finding in found and need.task not in active
            ]
            if lacking:
                held = tuple(Hold(f"needs:{need.task}", need.task, line.won.rule, line.won.subject) for need in lacking)
                lines[line_id] = replace(line, state="held", held_by=(*line.held_by, *held))
                changed = True
