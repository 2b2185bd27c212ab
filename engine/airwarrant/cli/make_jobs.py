"""`airwarrant make-jobs`: fictional jobs for demos, tests and benchmarks."""

import json
from collections import Counter
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.progress import Progress

from airwarrant.cli.console import err, put
from airwarrant.counted import counted
from airwarrant.errors import CallError, Fault
from airwarrant.shipped import policies_folder, roots

if TYPE_CHECKING:
    from airwarrant.cli.made_archive import MadeArchive
    from airwarrant.made_jobs.made import MadeJob

_MOST = 10_000_000


def make_jobs(
    count: Annotated[int, typer.Argument(help="How many jobs.", metavar="N")],
    out_dir: Annotated[Path, typer.Option("--out", help="Folder to write them into.")],
    seed: Annotated[int, typer.Option(help="Another seed gives other jobs; the same one the same.")] = 1,
    market: Annotated[str, typer.Option(help="Only jobs of this market; else of every market there is.")] = "",
    archive: Annotated[
        Path | None,
        typer.Option(
            "--archive", help="Also evaluate each and keep it in this archive, test-outs too.", metavar="FILE"
        ),
    ] = None,
    policies: Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print how often each cause was planted, as JSON.")] = False,
) -> None:
    """Make plausible jobs: each house is drawn, its air network solved, and its readings taken off the solution.

    What was planted in each stands in planted/causes.json beside them. All of it is invented and marked as a demo.

    Example: airwarrant make-jobs 50 --seed 7 --out demo-jobs
    """
    from airwarrant.made_jobs.folder import write_jobs
    from airwarrant.made_jobs.markets import climates_of

    if not 1 <= count <= _MOST:
        raise CallError([Fault("count", counted(count, "job"), f"1 to {_MOST:,}")])
    if seed < 0:
        raise CallError([Fault("seed", f"--seed {seed}", "0 or above")])
    folders = roots(policies_folder(policies))
    climates = climates_of(folders, market)
    console = err()
    planted: Counter[str] = Counter()
    with ExitStack() as stack:
        progress = stack.enter_context(Progress(console=console, transient=True, disable=not console.is_terminal))
        bar = progress.add_task("jobs", total=count)
        kept = None if archive is None else stack.enter_context(_archive(archive, folders))

        def done(job: "MadeJob") -> None:
            planted.update(job.planted.causes)
            planted["healthy"] += job.planted.healthy
            if kept is not None:
                kept.keep(job)
            progress.advance(bar)

        write_jobs(out_dir, count, seed, climates, market=market, each=done)
    console.print(f"wrote {counted(count, 'job')} and planted/causes.json into {out_dir}")
    if archive is not None:
        console.print(f"kept them in {archive}")
    if as_json:
        put(json.dumps({"jobs": count, "seed": seed, "planted": dict(sorted(planted.items()))}, indent=1))


def _archive(path: Path, folders: Sequence[Path]) -> "MadeArchive":
    from airwarrant.cli.made_archive import MadeArchive

    return MadeArchive(path, folders)
