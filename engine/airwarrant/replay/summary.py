"""The answers of a replay added up: bounded in size, and the same in whatever order they come."""

from bisect import insort
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from heapq import heappush, heappushpop

from airwarrant.pricing.exact import total
from airwarrant.replay.answer import Answer
from airwarrant.replay.compare_jobs import Done
from airwarrant.replay.outcome import Outcome
from airwarrant.replay.reach import Change

_NOTHING = Decimal(0)
#: Jobs whose trees are shown.
MOST = 10
#: Names of jobs that are listed; further ones are counted.
MOST_NAMES = 1000
#: Jobs that are named beside a number of them.
MOST_NAMED = 3


@dataclass(slots=True)
class Sum:
    """Money before and after, exact, over the jobs that have an amount on both sides."""

    jobs: int = 0
    before: Decimal = Decimal(0)
    after: Decimal = Decimal(0)

    @property
    def difference(self) -> Decimal:
        return total((self.after, -self.before))

    def add(self, before: Decimal, after: Decimal) -> None:
        self.jobs += 1
        self.before = total((self.before, before))
        self.after = total((self.after, after))


@dataclass(order=True, slots=True)
class _Ranked:
    """A job by how much it has moved; of two that moved the same the name decides."""

    weight: tuple[bool, Decimal, int]
    name: "_Later"
    answer: Answer = field(compare=False)


class _Later(str):
    """A name that ranks the lower the later it stands in the alphabet."""

    __slots__ = ()

    def __lt__(self, other: object) -> bool:
        return str(self) > str(other)


class Summary:
    """Answers added up.

    Attributes
    ----------
    sorts : Counter
        Jobs by what became of them: ``same``, ``moved``, ``apart``, ``failed``.
    lines : Counter
        By (task, kind of move).
    markets, tasks : mapping of str to Sum
    unpriced : int
        Jobs that have no amount under one policy at least: they are in no sum.
    stops, holds, targets : Counter
        By (name, before, after).
    line_jobs : mapping of (str, bool) to list of str
        By task and whether anything but its price moved: names of a few of the jobs.
    told_jobs : mapping of (str, str, str, str) to list of str
        By ``stops``, ``holds`` or ``targets`` and what these count by: names of a few of the jobs.
    answers : Counter
        By (before, after).
    differences : Counter
        Jobs by what the offer differs by.
    failed, safety_lost : list of (str, str)
        Job and what is said of it.
    moved : list of str
        Names of jobs that moved, at most `MOST_NAMES`.
    """

    def __init__(self) -> None:
        self.sorts: Counter[str] = Counter()
        self.lines: Counter[tuple[str, str]] = Counter()
        self.line_jobs: dict[tuple[str, bool], list[str]] = {}
        self.told_jobs: dict[tuple[str, str, str, str], list[str]] = {}
        self.markets: dict[str, Sum] = {}
        self.tasks: dict[str, Sum] = {}
        self.unpriced = 0
        self.stops: Counter[tuple[str, str, str]] = Counter()
        self.holds: Counter[tuple[str, str, str]] = Counter()
        self.targets: Counter[tuple[str, str, str]] = Counter()
        self.answers: Counter[tuple[str, str]] = Counter()
        self.differences: Counter[Decimal] = Counter()
        self.failed: list[tuple[str, str]] = []
        self.safety_lost: list[tuple[str, str]] = []
        self.moved: list[str] = []
        self._most: list[_Ranked] = []
        self._changes: dict[str, tuple[Change, ...]] = {}
        self._held: Counter[str] = Counter()
        self._hits: Counter[tuple[str, int]] = Counter()

    def add(self, done: Done) -> bool:
        """Add a job; return whether it is, for now, one of those that moved most."""
        self.told(done.pair, done.changes)
        if done.pair:
            self.count(done.pair, 1, dict.fromkeys(done.hits, 1))
        answer = done.answer
        self.sorts[answer.sort] += 1
        if answer.sort == "failed":
            self.failed.append((answer.job, answer.why))
            return False
        tasks = {task: (Decimal(one.before or 0), Decimal(one.after or 0)) for task, one in answer.tasks.items()}
        self._money(answer.market, _amount(answer.before), _amount(answer.after), tasks)
        if answer.sort != "moved":
            return False
        if len(self.moved) < MOST_NAMES:
            self.moved.append(answer.job)
        self._moved(answer)
        ranked = _Ranked(answer.weight, _Later(answer.job), answer)
        if len(self._most) < MOST:
            heappush(self._most, ranked)
            return True
        return heappushpop(self._most, ranked) is not ranked

    def proved(self, market: str, outcome: Outcome) -> None:
        """Add a job that is proved to be the same by facts kept with it, and what the evaluation of these facts came to."""
        self.sorts["apart"] += 1
        tasks: dict[str, Decimal] = {}
        for line in outcome.lines.values():
            if line.amount:
                tasks[line.task] = total((tasks.get(line.task, _NOTHING), line.amount))
        self._money(market, outcome.amount, outcome.amount, {task: (one, one) for task, one in tasks.items()})

    def told(self, pair: str, changes: tuple[Change, ...] | None) -> None:
        """Take in what a pair of policies changes."""
        if changes is not None:
            self._changes.setdefault(pair, changes)

    def count(self, pair: str, jobs: int, hits: Mapping[int, int]) -> None:
        """Take in that so many jobs were held against the changes of a pair, and how many each can touch."""
        self._held[pair] += jobs
        for change, touched in hits.items():
            self._hits[pair, change] += touched

    @property
    def jobs(self) -> int:
        return sum(self.sorts.values())

    @property
    def most(self) -> tuple[Answer, ...]:
        """The jobs that moved most, most first."""
        return tuple(one.answer for one in sorted(self._most, reverse=True))

    def proof(self) -> Iterator[tuple[Change, int, int]]:
        """Each change once, over all pairs of policies: how many jobs were held against it, and how many it can touch."""
        held: dict[Change, list[int]] = {}
        for pair in sorted(self._changes):
            for at, change in enumerate(self._changes[pair]):
                counts = held.setdefault(change, [0, 0])
                counts[0] += self._held[pair]
                counts[1] += self._hits[pair, at]
        for change, (jobs, touched) in held.items():
            yield change, jobs, touched

    def _money(
        self, market: str, before: Decimal | None, after: Decimal | None, tasks: Mapping[str, tuple[Decimal, Decimal]]
    ) -> None:
        if before is None or after is None:
            self.unpriced += 1
            return
        self.markets.setdefault(market, Sum()).add(before, after)
        for task, (one, other) in tasks.items():
            self.tasks.setdefault(task, Sum()).add(one, other)
        self.differences[total((after, -before))] += 1

    def _moved(self, answer: Answer) -> None:
        lines = {(one.line.partition("@")[0], one.kind) for one in answer.lines}
        self.lines.update(lines)
        for task, otherwise in {(task, kind != "repriced") for task, kind in lines}:
            _name(self.line_jobs.setdefault((task, otherwise), []), answer.job)
        for what in ("stops", "holds", "targets"):
            told = {(name.partition("@")[0], before, after) for name, before, after in getattr(answer, what)}
            getattr(self, what).update(told)
            for one in told:
                _name(self.told_jobs.setdefault((what, *one), []), answer.job)
        if answer.answers:
            self.answers[answer.answers] += 1
        self.safety_lost += [(answer.job, what) for what in answer.safety_lost]


def _name(named: list[str], job: str) -> None:
    """Keep the first few names of the alphabet, in whatever order jobs come."""
    insort(named, job)
    del named[MOST_NAMED:]


def _amount(text: str) -> Decimal | None:
    return Decimal(text) if text else None
