"""How long one job takes: warm with the full trace, with the air network with and without draws, cold as a process; memory over many jobs.

Milliseconds of the processor, which other work on the machine disturbs least; of the cold process they are of the clock. Decisions alone
are point solves with linear ranges, with a constant-airflow blower (job 3390) draws; the walk over every rule is in them, and is
told in full, clause by clause, in the row below. Made jobs are drawn over every shipped market, one in six of them with a constant-airflow
blower: their p50 is that of jobs, each the median of three evaluations.

`python tests/bench/evaluate.py [--evaluations 50000]` prints one table. Nothing here asserts a time.
"""

import argparse
import gc
import platform
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable

from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import parse_job, read_job
from airwarrant.made_jobs.made import made
from airwarrant.policy.cache import PolicyCache
from airwarrant.result.document import document
from airwarrant.result.trace import PolicyTexts
from airwarrant.run import Run
from airwarrant.shipped import shipped


def spans(work: Callable[[], object], times: int, clock: Callable[[], float] = time.process_time) -> list[float]:
    """Milliseconds of each of `times` calls, after a tenth as warm-up."""
    for _ in range(max(1, times // 10)):
        work()
    out = []
    for _ in range(times):
        start = clock()
        work()
        out.append(1000.0 * (clock() - start))
    return out


def row(name: str, took: list[float]) -> None:
    ranked = sorted(took)
    print(f"{name:64s} {statistics.median(ranked):9.2f} {ranked[int(0.95 * (len(ranked) - 1))]:9.2f} {len(ranked):7d}")


def decisions(job: str) -> None:
    """One line on a job decided with the air network, and one on what was judged."""
    file = f"job-{job}.toml"
    text = (shipped("scenarios") / file).read_bytes()
    record = parse_job(text, file)
    policy = PolicyCache(shipped("policies")).policy(record.market, record.dates)
    with Evaluator(policy, detail=False) as evaluator:
        run = evaluator.run(record)
        row(f"warm evaluate of {job} with the air network, decisions alone", spans(lambda: evaluator.run(record), 50))
        row("  with every clause of the walk told", spans(lambda: told(evaluator.run(record)), 30))
        row("  with the record read from its text", spans(lambda: evaluator.run(parse_job(text, file)), 30))
    facts = f"subjects {len(run.subjects)}, verdicts {len(run.verdicts)}, conclusions {len(run.outcome.atoms)}"
    print(
        f"    rules {len(policy.rules)}, checks {len(policy.checks)}, facts: {facts}; "
        f"firings {len(run.outcome.firings)}, walked {len(run.walked)}, rounds {len(run.rounds)}"
    )


def many(each: int) -> None:
    """One line on made jobs of every shipped market, and one on those with a constant-airflow blower."""
    took, constant = [], []
    cache = PolicyCache(shipped("policies"))
    for market in sorted(path.stem for path in (shipped("policies") / "markets").glob("*.toml")):
        records = [made(21, k, market).record() for k in range(1, each + 1)]
        with Evaluator(cache.policy(market, records[0].dates), detail=False) as evaluator:
            for record in records:
                span = statistics.median(spans(lambda one=record: evaluator.run(one), 3))  # type: ignore[misc]
                took.append(span)
                if record.new_blower is not None and record.new_blower.kind == "constant-airflow":
                    constant.append(span)
    row("warm evaluate of made jobs of every market, decisions alone", took)
    row("  of those, constant-airflow blowers", constant)


def told(run: Run) -> int:
    """How many clauses the walk tells of."""
    return sum(len(walked.clauses) for walked in run.walked)


def memory_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--evaluations", type=int, default=50_000, help="evaluations of the memory run")
    given = parser.parse_args()
    print(
        f"{platform.machine()}, {platform.system()}, Python {platform.python_version()}; no randomness in an evaluation"
    )
    print(f"{'ms':64s} {'p50':>9s} {'p95':>9s} {'n':>7s}")
    scenario = shipped("scenarios") / "job-1042.toml"
    record = read_job(scenario)
    policy = PolicyCache(shipped("policies")).policy(record.market, record.dates)
    row("read the record of job 1042", spans(lambda: read_job(scenario), 50))
    row(
        "compose and check the policy, nothing cached",
        spans(lambda: PolicyCache(shipped("policies")).policy(record.market, record.dates), 10),
    )
    for job in ("1042", "2718", "3390", "4471", "5560"):
        decisions(job)
    many(40)
    with Evaluator(policy, predictor=None) as plain, Evaluator(policy) as full:
        texts = PolicyTexts(policy)
        row("warm evaluate of 1042, trace walked, no predictor", spans(lambda: plain.run(record), 300))
        row("  and the result document", spans(lambda: document(plain.run(record), texts=texts), 200))
        row("  checked with both evaluators", spans(lambda: plain.run(record, check_both=True), 100))
        row(
            "warm evaluate of 1042 with the air network, every draw, step and alternative",
            spans(lambda: full.run(record), 30),
        )
    command = [sys.executable, "-m", "airwarrant", "run", str(scenario), "--json"]
    row(
        "cold `run --json` of 1042, a process",
        spans(lambda: subprocess.run(command, check=True, capture_output=True), 10, time.perf_counter),
    )
    with Evaluator(policy, predictor=None) as plain:
        for _ in range(500):
            plain.run(record)
        gc.collect()
        before = memory_mb()
        for _ in range(given.evaluations):
            plain.run(record)
        print(f"peak memory after 500 evaluations {before:.1f} MB, after {given.evaluations} more {memory_mb():.1f} MB")


if __name__ == "__main__":
    main()
