"""Made jobs: how many a second, how many are read back a second, and what an evaluation finds of what was planted.

`python tests/bench/made_jobs.py [--jobs 2000] [--evaluated 300]` prints rates of one core's time and the recall of each cause; nothing
here asserts either.
"""

import argparse
import resource
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from typing import Any

from airwarrant.made_jobs.causes import Planted
from airwarrant.made_jobs.folder import write_jobs
from airwarrant.made_jobs.made import MadeJob, made
from airwarrant.made_jobs.markets import shipped_climates
from airwarrant.made_jobs.recall import recall_of
from airwarrant.session import Session
from airwarrant.shipped import shipped

SEED = 1


def written(count: int) -> None:
    planted: Counter[str] = Counter()

    def each(job: MadeJob) -> None:
        planted.update(job.planted.causes)
        planted["healthy"] += job.planted.healthy

    with TemporaryDirectory() as folder:
        begin = process_time()
        write_jobs(Path(folder), count, SEED, shipped_climates(), each=each)
        spent = process_time() - begin
    print(f"made and written: {count} jobs, {count / spent:,.0f} a second")
    print("planted, per 1,000:", ", ".join(f"{name} {1000 * n / count:.0f}" for name, n in planted.most_common()))


def read(count: int) -> None:
    jobs = [made(SEED, k) for k in range(1, count + 1)]
    begin = process_time()
    for job in jobs:
        job.record()
    print(f"read back: {count / (process_time() - begin):,.0f} a second")


def evaluated(count: int) -> None:
    def results() -> Iterator[tuple[Planted, Mapping[str, Any]]]:
        with Session(shipped("policies")) as session:
            for k in range(1, count + 1):
                job = made(SEED, k)
                yield job.planted, session.evaluate(job.record())

    recall = recall_of(results())
    for cause in sorted(recall.planted):
        print(f"  {cause:22} found {recall.found[cause]:4} of {recall.planted[cause]:4}")
    print(f"  healthy houses without a line of work: {recall.left_alone} of {recall.healthy}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--jobs", type=int, default=2000)
    parser.add_argument("--evaluated", type=int, default=300)
    asked = parser.parse_args()
    written(asked.jobs)
    read(min(asked.jobs, 300))
    evaluated(asked.evaluated)
    print(f"memory at most: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:,.0f} MB")
