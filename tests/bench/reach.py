"""One threshold changed over 100,000 kept jobs: how many reach proves, how long all takes, and a sample evaluated in full.

``python reach.py [JOBS] [DISTINCT]``. `DISTINCT` made jobs are evaluated for their facts; each stands as often in the file of facts, and
among the jobs, as makes up `JOBS`, under a name of its own. The sample is every distinct job, at most 1,000, under both policies.
"""

import sys
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from airwarrant.evaluate import Evaluator
from airwarrant.made_jobs.made import made
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from airwarrant.replay.compare_jobs import Asked
from airwarrant.replay.facts import facts_of, read_facts
from airwarrant.replay.kept_facts import KeptFacts
from airwarrant.replay.layout import Layout
from airwarrant.replay.outcome import Outcome, outcome_of
from airwarrant.replay.pool import Pool
from airwarrant.replay.reach import Reach
from airwarrant.replay.replay import replay
from airwarrant.replay.sides import side
from airwarrant.replay.stored import Head, Job
from airwarrant.rules.seen import Seen
from airwarrant.shipped import shipped
from replay import Watched

MARKET, SEED, SAMPLE = "copper-basin", 9, 1000
#: Changes of one value, each by itself: file below the policies folder, what stands there, what stands there instead.
CHANGES = (
    ("regions/hot-dry/2026-01-01/limits.toml", "[0, 15]", "[0, 14.5]"),
    ("regions/hot-dry/2026-01-01/limits.toml", "value = 10\n", "value = 10.2\n"),
)


@dataclass(frozen=True)
class Repeated:
    """`count` jobs over the distinct ones."""

    distinct: tuple[Job, ...]
    count: int

    def __len__(self) -> int:
        return self.count

    def heads(self) -> Iterator[Head]:
        return (_One(self.distinct[at % len(self.distinct)], at) for at in range(self.count))


@dataclass(frozen=True)
class _One:
    of: Job
    number: int

    @property
    def name(self) -> str:
        return f"{self.of.name}-{self.number}"

    @property
    def market(self) -> str:
        return ""

    @property
    def dates(self) -> Mapping[str, date | None]:
        return {}

    def key(self) -> str:
        return f"job:{self.number}"

    def facts(self) -> bytes | None:
        return None

    def job(self) -> Job:
        return replace(self.of, name=self.name)


def main(count: int, distinct: int) -> None:
    """Print what each change comes to."""
    policy = compose(shipped("policies"), MARKET, {})
    several = [made(SEED, k, MARKET) for k in range(1, distinct + 1)]
    records = [one.record() for one in several]
    layout, facts, before = Layout(policy), [], []
    began = time.process_time()
    with Evaluator(policy, detail=False) as evaluator:
        for record in records:
            seen = Seen()
            run = evaluator.run(record, seen=seen)
            facts.append(facts_of(run, seen, layout))
            before.append(outcome_of(run))
    print(
        f"{distinct} made jobs evaluated, {len(facts[0])} bytes of facts each: {time.process_time() - began:.1f} s",
        flush=True,
    )
    jobs = Repeated(tuple(Job(one.file, one.file, one.text.encode()) for one in several), count)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "facts"
        with KeptFacts(path) as kept:
            for at in range(count):
                kept.add(f"job:{at}", facts[at % distinct])
        print(f"{count:,} jobs in one file of facts of {path.stat().st_size / 1e6:.0f} MB\n", flush=True)
        print(
            "| change | can change | of | decided, processor s | whole replay, processor s | wall s | peak MB | sample | missed |"
        )
        print("|---|---|---|---|---|---|---|---|---|")
        for number, change in enumerate(CHANGES):
            other = _changed(Path(folder) / f"p{number}", change)
            b = compose((other, shipped("policies")), MARKET, {})
            reach = Reach(policy, b)
            read, _ = read_facts(facts, layout)
            touched = reach.hits(read).any(axis=0).tolist()
            missed, looked = _missed(b, records[:SAMPLE], before, touched)
            began = time.process_time()
            with KeptFacts(path) as kept:
                for start in range(0, count, 2048):
                    reach.decide(kept.get(f"job:{at}") for at in range(start, min(start + 2048, count)))
            decided = time.process_time() - began
            asked = Asked(side((shipped("policies"),), MARKET), side((other,), MARKET))
            with KeptFacts(path) as kept, Watched() as watched:
                told = replay(jobs, asked, Pool(asked, 2), facts=kept, trees=False)
            can = told.jobs - told.summary.sorts["apart"]
            print(
                f"| {change[1].strip()} → {change[2].strip()} | {can:,} | {told.jobs:,} | {decided:.1f} | {watched.cpu:.0f} "
                f"| {watched.wall:.0f} | {watched.peak / 1024:.0f} | {looked} | {missed} |",
                flush=True,
            )


def _changed(folder: Path, change: tuple[str, str, str]) -> Path:
    from shutil import copytree

    copytree(shipped("policies"), folder)
    file, old, new = change
    text = (folder / file).read_text()
    assert text.count(old) == 1, change
    (folder / file).write_text(text.replace(old, new))
    return folder


def _missed(policy: Policy, records: list, before: list[Outcome], touched: list[bool]) -> tuple[int, int]:  # type: ignore[type-arg]
    """How many of a sample, evaluated in full, come out otherwise although reach left them out."""
    missed = 0
    with Evaluator(policy, detail=False) as evaluator:
        for record, held, can in zip(records, before, touched, strict=False):
            missed += outcome_of(evaluator.run(record)) != held and not can
    return missed, len(records)


if __name__ == "__main__":
    main(*(int(one) for one in (sys.argv[1:] + ["100000", "1000"][len(sys.argv) - 1 :])))
