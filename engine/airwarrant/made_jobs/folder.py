"""Made jobs written into a folder as they come, and beside them what was planted in each."""

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from airwarrant.made_jobs import figures
from airwarrant.made_jobs.made import MadeJob, made
from airwarrant.whole_file import told_plainly

FORMAT = "airwarrant/made-jobs/1"
#: Beside the records, so that a folder of them holds nothing else that reads like one.
CAUSES, TEST_OUTS = "planted/causes.json", "test-outs"
Each = Callable[[MadeJob], None]


def write_jobs(
    folder: Path,
    count: int,
    seed: int,
    climates: Mapping[str, str],
    *,
    market: str = "",
    each: Each = lambda job: None,
) -> None:
    """Write ``job-made-<seed>-<k>.toml`` for k from 1 to `count`, test-outs into a folder of their own, and what was planted.

    One job is held at a time. The same count, seed, markets and version of the figures give the same bytes.

    Parameters
    ----------
    each : callable
        Called with every job once it is written.

    Raises
    ------
    CallError
        ``cannot-write``, with why and what to do.
    """
    with told_plainly(folder):
        for beside in (folder / TEST_OUTS, (folder / CAUSES).parent):
            beside.mkdir(parents=True, exist_ok=True)
        unfinished = folder / f"{CAUSES}.new"
        causes = unfinished.open("w", encoding="utf-8", newline="\n")
    with causes:
        head = {"format": FORMAT, "seed": seed, "figures": figures.version(), "demo": True}
        for k in range(1, count + 1):
            job = made(seed, k, market, climates)
            with told_plainly(folder):
                _write(folder / job.file, job.text)
                if job.test_out:
                    _write(folder / TEST_OUTS / job.test_out_file, job.test_out)
                causes.write(
                    (json.dumps(head)[:-1] + ', "jobs": [' if k == 1 else ",") + "\n" + json.dumps(causes_of(job))
                )
            each(job)
        with told_plainly(folder):
            causes.write("\n]}\n")
    with told_plainly(folder):
        unfinished.replace(folder / CAUSES)


def causes_of(job: MadeJob) -> dict[str, Any]:
    """What was planted in a job, as plain data: every cause with its place and with what an evaluation may say of it."""
    return {
        "job": job.id,
        "market": job.market,
        "healthy": job.planted.healthy,
        "causes": [
            {
                "cause": cause,
                "title": figures.text(f"cause/{cause}/title"),
                "place": place,
                "finds": list(figures.names(f"cause/{cause}/finds")),
            }
            for cause, place in job.places.items()
        ],
    }


def _write(path: Path, text: str) -> None:
    path.write_bytes(text.encode())
