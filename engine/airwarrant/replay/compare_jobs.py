"""Comparing one stored job after the other: what every worker does, wherever it runs."""

import gc
from collections import OrderedDict
from dataclasses import dataclass, replace
from types import TracebackType
from typing import Self

from airwarrant.errors import AirwarrantError
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from airwarrant.policy.model import Policy
from airwarrant.replay.answer import Answer, compared
from airwarrant.replay.facts import facts_of, outcome_in
from airwarrant.replay.followed import Looser
from airwarrant.replay.loosened import loosened
from airwarrant.replay.outcome import Outcome, outcome_of
from airwarrant.replay.past_records import read_past
from airwarrant.replay.reach import Change, Reach, told
from airwarrant.replay.shared_air import SharedAir
from airwarrant.replay.shared_judging import SharedJudging
from airwarrant.replay.shared_rules import SharedRules, same_rules
from airwarrant.replay.shared_sizes import SharedSizes
from airwarrant.replay.sides import Policies, Side, policies
from airwarrant.replay.stored import Job
from airwarrant.replay.trees import Trees, trees_of
from airwarrant.rules.seen import Seen

#: Engines kept at once: each holds about a megabyte.
_MOST_ENGINES = 16


@dataclass(frozen=True, slots=True)
class Asked:
    """What a worker needs to know: both sides, as texts; whether the second side is evaluated although
    reach says it need not be; whether facts are wanted back."""

    a: Side
    b: Side
    everything: bool = False
    gather: bool = False


@dataclass(frozen=True, slots=True)
class Done:
    """What a worker says of a job.

    Attributes
    ----------
    pair : str
        Which two policies it was compared under, as `changes` tells them by; empty where it was not evaluated.
    hits : tuple of int
        Which of the pair's changes can touch it.
    changes : tuple of Change or None
        The pair's changes, with the first job of a pair.
    looser : tuple of Looser
        What of safety the pair's second policy holds looser, with the first job of a pair.
    facts : bytes or None
        Facts of the first evaluation, where they were asked for.
    """

    answer: Answer
    pair: str = ""
    hits: tuple[int, ...] = ()
    changes: tuple[Change, ...] | None = None
    looser: tuple[Looser, ...] = ()
    facts: bytes | None = None


class Comparer:
    """Compares jobs; a context manager that frees engines and files."""

    def __init__(self, asked: Asked) -> None:
        self._asked = asked
        self._a, self._b = policies(asked.a, asked.b)
        self._air, self._judging, self._sizes = SharedAir(), SharedJudging(), SharedSizes()
        self._rules: list[SharedRules] = []
        self._evaluators: OrderedDict[int, Evaluator] = OrderedDict()
        self._reach: dict[str, Reach] = {}

    def compare(self, job: Job) -> Done:
        """Compare one job; what cannot be evaluated is said in its answer."""
        try:
            return self._compared(job, _at_home(read_past(job.text, job.file), job))
        except AirwarrantError as error:
            return Done(Answer(job.name, job.market, "failed", why=_first(error)))
        finally:
            self._air.forget()
            self._judging.forget()
            self._sizes.forget()
            for shared in self._rules:
                shared.forget()

    def trees(self, job: Job, answer: Answer) -> Trees:
        """The reason trees of the lines that moved, under either policy."""
        record = _at_home(parse_job(job.text, job.file), job)
        return trees_of(record, self._policy(self._a, record), self._policy(self._b, record), answer)

    def _compared(self, job: Job, record: JobRecord) -> Done:
        a, b = self._policy(self._a, record), self._policy(self._b, record)
        pair = f"{a.digest[:16]}:{b.digest[:16]}"
        changes, looser = None, tuple[Looser, ...]()
        reach = self._reach.get(pair)
        if reach is None:
            reach = self._reach[pair] = Reach(a, b)
            changes, looser = tuple(map(told, reach.impacts)), loosened(a, b)
        facts, before = self._first(a, reach, job, record)
        hits = reach.hits_of(facts)
        if not hits and not self._asked.everything:
            answer = replace(compared(job.name, b.market.name, before, before), sort="apart")
        else:
            answer = compared(job.name, b.market.name, before, outcome_of(self._evaluator(b).run(record)))
        return Done(answer, pair, hits, changes, looser, facts if self._asked.gather else None)

    def _first(self, a: Policy, reach: Reach, job: Job, record: JobRecord) -> tuple[bytes, Outcome]:
        """Facts and outcome under the first policy: those that were kept, else those of an evaluation."""
        if job.facts is not None and not self._asked.everything:
            known = outcome_in(job.facts, reach.layout)
            if known is not None:
                return job.facts, known
        seen = Seen()
        run = self._evaluator(a).run(record, seen=seen)
        asked = None if self._asked.gather else reach.checks
        return facts_of(run, seen, reach.layout, asked), outcome_of(run)

    def _policy(self, policies: Policies, record: JobRecord) -> Policy:
        return policies.policy(record.market, record.dates)

    def _evaluator(self, policy: Policy) -> Evaluator:
        known = self._evaluators.get(id(policy))
        if known is None:
            known = Evaluator(
                policy,
                self._air,
                detail=False,
                rereads=False,
                concluding=self._rules_of(policy),
                judging=self._judging,
                sizing=self._sizes,
            )
            self._evaluators[id(policy)] = known
            while len(self._evaluators) > _MOST_ENGINES:
                self._evaluators.popitem(last=False)[1].close()
        self._evaluators.move_to_end(id(policy))
        return known

    def _rules_of(self, policy: Policy) -> SharedRules:
        """The rules of a policy, made ready once for all that have the same."""
        for shared in self._rules:
            if same_rules(shared.rules, policy.rules):
                return shared
        while len(self._rules) >= _MOST_ENGINES:
            oldest = self._rules.pop(0)
            gone = [key for key, one in self._evaluators.items() if one.concludes_by(oldest)]
            for key in gone:
                self._evaluators.pop(key).close()
            oldest.close()
        self._rules.append(SharedRules(policy.rules))
        return self._rules[-1]

    def close(self) -> None:
        for evaluator in self._evaluators.values():
            evaluator.close()
        self._evaluators.clear()
        for shared in self._rules:
            shared.close()
        self._rules.clear()
        self._a.close()
        self._b.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def calm_collector() -> None:
    """Look for garbage seldom: a worker's jobs leave little that reference counts do not free."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 50, 50)


def _at_home(record: JobRecord, job: Job) -> JobRecord:
    """The record in the market that it is replayed in."""
    return record if job.market in ("", record.market) else replace(record, market=job.market)


def _first(error: AirwarrantError) -> str:
    return str(error).splitlines()[0]
