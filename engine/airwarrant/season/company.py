"""The owner's figures over many jobs: gathered one job at a time, told at the end."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from airwarrant.season.counting import Share, Spread, spread
from airwarrant.season.job_figures import PREDICTED, TOLD, JobFigures, LineFigures

ALL = "all"
#: From so many currencies on, amounts are not added up.
_SEVERAL = 2
#: What an owner asks for that no record holds, and why; listed so that nobody takes silence for nought.
NOT_TOLD = (
    ("Call-backs within 30 days and in the first season", "nothing is kept after the test-out"),
    (
        "Hours worked against hours estimated",
        "the record holds no hours of the crew; hours here are those of the price book",
    ),
    ("Hours the unit was off", "the record does not say when it was switched off and on"),
    (
        "Change orders for what opened up during work",
        "a change order is a further visit; whether it was signed is not written",
    ),
    ("Complaints that the homeowner calls closed", "nobody writes down what the homeowner says after the work"),
    ("Warranty cost per job", "no cost after hand-over is kept"),
)


@dataclass(frozen=True, slots=True)
class TaskFigures:
    """A task over all jobs: how many jobs have it as work to be done, its lines, book hours, money and what it costs us.

    Money and cost are None where the jobs do not share a currency.
    """

    task: str
    title: str
    jobs: Share
    lines: int
    hours: Decimal
    amount: Decimal | None
    cost: Decimal | None

    @property
    def margin(self) -> float | None:
        """What is left of the money once its cost is paid, in percent; None without money."""
        if not self.amount or self.cost is None:
            return None
        return float(100 * (self.amount - self.cost) / self.amount)


@dataclass(frozen=True, slots=True)
class RuleFigures:
    """A rule: of the jobs that know it, those in which it fired, it fired nowhere for one close call, and a line of its was left out."""

    rule: str
    title: str
    hits: Share
    near: Share
    overridden: Share


@dataclass(frozen=True, slots=True)
class CheckFigures:
    """A check: of the jobs it was judged in, those where it was too close to call somewhere."""

    check: str
    title: str
    close: Share


@dataclass(frozen=True, slots=True)
class ErrorFigures:
    """Reading after the work less prediction: bias is the mean, spread the standard deviation."""

    field: str
    title: str
    unit: str
    off: Spread
    within: Share


@dataclass(frozen=True, slots=True)
class MarketFigures:
    """One market, or ``all`` of them.

    Attributes
    ----------
    changes : mapping of reading to (before, after)
        Only jobs that have both; cfm for flows, cfm a ton for ``airflow_per_ton``, in. w.c. for the static.
    gain : Spread or None
        Of the air at the registers, after less before [cfm].
    money : Decimal or None
        Of lines to be done, in `currency`; None where the jobs do not share one.
    """

    market: str
    currency: str
    jobs: int
    measured_first: Share
    no_work: Share
    reread: Share
    tested_out: Share
    passed_first: Share
    conditional: Share
    failed: Share
    before: Mapping[str, Spread]
    changes: Mapping[str, tuple[Spread, Spread]]
    gain: Spread | None
    days: Spread | None
    made_safe: Share
    money: Decimal | None
    hours: Decimal


@dataclass(frozen=True, slots=True)
class Figures:
    """The owner's figures.

    Attributes
    ----------
    markets : tuple of MarketFigures
        All jobs first, then each market.
    tasks : tuple of TaskFigures
        The most money first.
    targets : mapping of title to Share
        Of test-outs that read it, those that met it.
    never, always : tuple of RuleFigures
        Rules that fired in no job, and in every one.
    people : mapping of person to int
        Lines left out against the rules, by who decided.
    overridden : Share
        Jobs with such a line, of all.
    declined : mapping of task to int
        Lines that homeowners declined.
    """

    first: date | None
    last: date | None
    markets: tuple[MarketFigures, ...]
    tasks: tuple[TaskFigures, ...]
    errors: tuple[ErrorFigures, ...]
    targets: Mapping[str, Share]
    rules: tuple[RuleFigures, ...]
    checks: tuple[CheckFigures, ...]
    overridden: Share
    people: Mapping[str, int]
    declined: Mapping[str, int]

    @property
    def jobs(self) -> int:
        return self.markets[0].jobs

    @property
    def never(self) -> tuple[RuleFigures, ...]:
        return tuple(one for one in self.rules if not one.hits.some)

    @property
    def sometimes(self) -> tuple[RuleFigures, ...]:
        """Rules that fired in some jobs and not in all, the most often first."""
        some = [one for one in self.rules if 0 < one.hits.some < one.hits.of]
        return tuple(sorted(some, key=lambda one: (-(one.hits.percent or 0.0), one.rule)))

    @property
    def closest(self) -> tuple[CheckFigures, ...]:
        """Checks that were too close to call somewhere, the most often first."""
        some = [one for one in self.checks if one.close.some]
        return tuple(sorted(some, key=lambda one: (-(one.close.percent or 0.0), one.check)))

    @property
    def always(self) -> tuple[RuleFigures, ...]:
        return tuple(one for one in self.rules if one.hits.some == one.hits.of)


@dataclass(slots=True)
class _Market:
    """What is counted of one market."""

    currencies: set[str] = field(default_factory=set)
    counts: Counter[str] = field(default_factory=Counter)
    answers: Counter[str] = field(default_factory=Counter)
    before: dict[str, list[float]] = field(default_factory=dict)
    pairs: dict[str, list[tuple[float, float]]] = field(default_factory=dict)
    days: list[float] = field(default_factory=list)
    money: Decimal = Decimal(0)
    hours: Decimal = Decimal(0)

    def add(self, job: JobFigures) -> None:
        self.currencies.add(job.currency)
        self.counts.update(
            jobs=1,
            measured_first=int(job.measured_first),
            no_work=int(job.no_work),
            reread=int(job.reread),
            tested_out=int(bool(job.answers)),
            unsafe=job.unsafe,
            made_safe=job.made_safe,
        )
        if job.answers:
            self.answers[job.answers[0]] += 1
        if job.days is not None:
            self.days.append(float(job.days))
        before, after = _per_ton(job.before, job, 0), _per_ton(job.after, job, 1)
        for name, value in before.items():
            self.before.setdefault(name, []).append(value)
            if name in after:
                self.pairs.setdefault(name, []).append((value, after[name]))
        for line in job.lines:
            if line.done:
                self.money += line.amount or 0
                self.hours += line.hours

    @property
    def currency(self) -> str:
        """The one that all its jobs share, else empty."""
        return next(iter(self.currencies)) if len(self.currencies) == 1 else ""

    def told(self, market: str) -> MarketFigures:
        jobs, tested = self.counts["jobs"], self.counts["tested_out"]
        gains = [after - before for before, after in self.pairs.get("register_flow", ())]
        return MarketFigures(
            market,
            self.currency,
            jobs,
            Share(self.counts["measured_first"], jobs),
            Share(self.counts["no_work"], jobs),
            Share(self.counts["reread"], jobs),
            Share(tested, jobs),
            Share(self.answers["pass"], tested),
            Share(self.answers["conditional"], tested),
            Share(self.answers["fail"], tested),
            _spreads(self.before),
            {
                name: (first, second)
                for name, pairs in self.pairs.items()
                if (first := spread([a for a, _ in pairs])) and (second := spread([b for _, b in pairs]))
            },
            spread(gains),
            spread(self.days),
            Share(self.counts["made_safe"], self.counts["unsafe"]),
            self.money if len(self.currencies) < _SEVERAL else None,
            self.hours,
        )


@dataclass(slots=True)
class _Task:
    """What is counted of one task."""

    title: str
    jobs: int = 0
    lines: int = 0
    hours: Decimal = Decimal(0)
    amount: Decimal = Decimal(0)
    cost: Decimal = Decimal(0)

    def add(self, line: LineFigures) -> None:
        self.lines += 1
        self.hours += line.hours
        self.amount += line.amount or 0
        self.cost += line.cost or 0


class Gathering:
    """Jobs under way: add them one by one, then ask for the figures. Holds a few numbers a job, no document."""

    def __init__(self) -> None:
        self._markets: dict[str, _Market] = {ALL: _Market()}
        self._days: list[date] = []
        self._titles: dict[str, str] = {}
        self._known: Counter[str] = Counter()
        self._checks: dict[str, str] = {}
        self._judged: Counter[str] = Counter()
        self._close: Counter[str] = Counter()
        self._hits: Counter[str] = Counter()
        self._near: Counter[str] = Counter()
        self._overridden: Counter[str] = Counter()
        self._people: Counter[str] = Counter()
        self._declined: Counter[str] = Counter()
        self._with_override = 0
        self._tasks: dict[str, _Task] = {}
        self._errors: dict[tuple[str, str, str], list[tuple[float, bool | None]]] = {}
        self._met: Counter[str] = Counter()
        self._read: Counter[str] = Counter()

    def add(self, job: JobFigures) -> None:
        """Count one job."""
        for name in (ALL, job.market):
            self._markets.setdefault(name, _Market()).add(job)
        self._days = [min([*self._days, job.day]), max([*self._days, job.day])]
        self._add_rules(job)
        self._add_tasks(job)
        for one in job.missed:
            self._errors.setdefault((one.field, one.title, one.unit), []).append((one.off, one.within))
        for (_, title), met in job.targets.items():
            self._read[title] += 1
            self._met[title] += met

    def figures(self) -> Figures:
        """The figures of what was added."""
        jobs = self._markets[ALL].counts["jobs"]
        markets = [self._markets[ALL].told(ALL)]
        markets += [self._markets[name].told(name) for name in sorted(self._markets) if name != ALL]
        return Figures(
            self._days[0] if self._days else None,
            self._days[1] if self._days else None,
            tuple(markets),
            tuple(self._of_tasks()),
            tuple(_error(*key, several) for key, several in sorted(self._errors.items(), key=_in_order)),
            {title: Share(self._met[title], self._read[title]) for title in sorted(self._read)},
            tuple(self._rule(rule) for rule in sorted(self._titles)),
            tuple(
                CheckFigures(check, title, Share(self._close[check], self._judged[check]))
                for check, title in sorted(self._checks.items())
            ),
            Share(self._with_override, jobs),
            dict(sorted(self._people.items())),
            dict(sorted(self._declined.items())),
        )

    def _add_rules(self, job: JobFigures) -> None:
        self._titles.update(job.rules)
        self._known.update(job.rules.keys())
        self._checks.update(job.checks)
        self._judged.update(job.checks.keys())
        self._close.update(job.close)
        self._hits.update(job.fired)
        self._near.update(job.near)
        self._overridden.update({one.rule for one in job.overridden if one.rule})
        self._people.update(one.by for one in job.overridden)
        self._declined.update(one.line.partition("@")[0] for one in job.declined)
        self._with_override += bool(job.overridden)

    def _add_tasks(self, job: JobFigures) -> None:
        done = [line for line in job.lines if line.done]
        for line in done:
            self._tasks.setdefault(line.task, _Task(line.title)).add(line)
        for task in {line.task for line in done}:
            self._tasks[task].jobs += 1

    def _of_tasks(self) -> list[TaskFigures]:
        """Figures of every task, those with the most money first."""
        whole = self._markets[ALL]
        jobs, shared = whole.counts["jobs"], len(whole.currencies) < _SEVERAL
        found = [
            TaskFigures(
                task,
                one.title,
                Share(one.jobs, jobs),
                one.lines,
                one.hours,
                one.amount if shared else None,
                one.cost if shared else None,
            )
            for task, one in self._tasks.items()
        ]
        return sorted(found, key=lambda one: (-(one.amount or 0), one.task))

    def _rule(self, rule: str) -> RuleFigures:
        known = self._known[rule]
        return RuleFigures(
            rule,
            self._titles[rule],
            Share(self._hits[rule], known),
            Share(self._near[rule], known),
            Share(self._overridden[rule], known),
        )


def gathered(jobs: Iterable[JobFigures]) -> Figures:
    """Return the figures of some jobs."""
    gathering = Gathering()
    for job in jobs:
        gathering.add(job)
    return gathering.figures()


def _per_ton(values: Mapping[str, float], job: JobFigures, which: int) -> dict[str, float]:
    """The readings with the airflow a ton beside them: of the old unit before, of the new one after."""
    found = {name: values[name] for name in TOLD if name in values}
    if "airflow" in found and job.tons is not None:
        found["airflow_per_ton"] = found["airflow"] / job.tons[which]
    return found


def _spreads(values: Mapping[str, list[float]]) -> dict[str, Spread]:
    return {name: found for name, several in values.items() if (found := spread(several)) is not None}


def _error(field: str, title: str, unit: str, several: list[tuple[float, bool | None]]) -> ErrorFigures:
    off = spread([value for value, _ in several])
    assert off is not None  # a key is made with its first number
    known = [within for _, within in several if within is not None]
    return ErrorFigures(field, title, unit, off, Share(sum(known), len(known)))


def _in_order(item: tuple[tuple[str, str, str], object]) -> tuple[int, str]:
    return PREDICTED.index(item[0][0]), item[0][2]
