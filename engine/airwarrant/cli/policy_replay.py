"""`airwarrant policy replay`: past jobs under two policies, in lines and money."""

import json
import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from airwarrant.cli.console import err, put
from airwarrant.cli.policy_replay_tables import print_not_evaluated, print_replay
from airwarrant.counted import counted
from airwarrant.errors import CallError, Fault
from airwarrant.shipped import policies_folder, roots
from airwarrant.whole_file import write_file

if TYPE_CHECKING:
    from airwarrant.replay.compare_jobs import Asked
    from airwarrant.replay.pool import Runner
    from airwarrant.replay.stored import Stored

SIDE = "copper-basin, copper-basin@2027-01-01; own, own@2027-01-01: each job's own market."
#: Files that are named where several are left out.
_MOST_NAMED = 3


def replay(
    a: Annotated[str, typer.Argument(metavar="A", help=f"The policy that was. {SIDE}")],
    b: Annotated[str, typer.Argument(metavar="B", help="The policy that would be, named in the same way.")],
    jobs: Annotated[Path | None, typer.Option(metavar="FOLDER", help="A folder of job records.")] = None,
    archive: Annotated[
        Path | None, typer.Option(metavar="FILE", help="An archive of kept jobs: the newest run of each.")
    ] = None,
    policies: Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")] = None,
    changed: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Policy folder of B, where it is another one.")
    ] = None,
    html: Annotated[Path | None, typer.Option("--html", help="Also write one page of HTML to this file.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
    everything: Annotated[
        bool,
        typer.Option("--everything", help="Evaluate every job under both, also where B is proved to change nothing."),
    ] = False,
    facts: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Keep here what A's evaluations rested on; the next replay of A reads it."),
    ] = None,
    journal: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Where finished jobs are noted, to go on after an interruption."),
    ] = None,
    processes: Annotated[
        int,
        typer.Option(
            metavar="COUNT", help="How many processes evaluate at once; 0: as many as there are cores.", min=0
        ),
    ] = 0,
    on: Annotated[str, typer.Option(metavar="ADDRESS", help="Evaluate on the dask cluster of this scheduler.")] = "",
) -> None:
    """Evaluate past jobs under two policies: lines, money, stops and holds that differ; exit 1 where safety is loosened.

    Example: airwarrant policy replay copper-basin copper-basin --jobs scenarios --changed policies
    """
    # Imported here: no other command needs it, and every start would pay for it.
    from airwarrant.replay.compare_jobs import Asked
    from airwarrant.replay.journal import Journal
    from airwarrant.replay.kept_facts import KeptFacts
    from airwarrant.replay.replay import replay as run
    from airwarrant.replay.sides import side
    from airwarrant.replay.told_json import data_of

    folder = policies_folder(policies)
    other = folder if changed is None else policies_folder(changed)
    names = (a, b) if a != b else (f"{a} in {_named(folder, other)}", f"{b} in {_named(other, folder)}")
    first, second = side(roots(folder), a, names[0]), side(roots(other), b, names[1])
    if facts is not None and not first.address.fixed:
        raise CallError(
            [Fault("facts-of-one", f"--facts with `{a}`", "a market", advice="Name a market instead of own.")]
        )
    asked = Asked(first, second, everything, gather=facts is not None)
    if journal is None and html is not None:
        journal = html.with_name(f"{html.name}.journal")
    with ExitStack() as open_:
        stored = _stored(open_, jobs, archive)
        runner = _runner(open_, asked, on, processes or _processes())
        held = open_.enter_context(KeptFacts(facts)) if facts is not None else None
        noted = Journal(journal, asked) if journal is not None else None
        finished = False
        try:
            with _progress(len(stored)) as progress:
                told = run(stored, asked, runner, journal=noted, facts=held, progress=progress)
            finished = True
        finally:
            if noted is not None:
                noted.close(finished=finished)
    if html is not None:
        from airwarrant.replay.page import replay_page

        write_file(html, replay_page(told).encode())
        err().print(Text(f"written {html}"))
    if as_json:
        data = data_of(told)
        put(json.dumps(data, ensure_ascii=False, indent=1))
        print_not_evaluated(err(), [one for one in data["not_evaluated"] if one["sides"]])
    else:
        print_replay(told)
    if told.refused:
        raise typer.Exit(CallError.exit_status)
    if not told.safe:
        raise typer.Exit(1)


def _named(folder: Path, other: Path) -> str:
    """The folder by its last name, or whole where that does not tell the two apart."""
    return folder.name if folder.name and folder.name != other.name else str(folder)


def _stored(open_: ExitStack, jobs: Path | None, archive: Path | None) -> "Stored":
    from airwarrant.replay.stored import Folder, Kept

    if (jobs is None) == (archive is None):
        found = "no jobs are named" if jobs is None else "--jobs and --archive"
        raise CallError([Fault("which-jobs", found, "one of --jobs DIR and --archive FILE")])
    if jobs is not None:
        folder = Folder(jobs)
        if folder.others:
            few = ", ".join(folder.others[:_MOST_NAMED]) + (", …" if len(folder.others) > _MOST_NAMED else "")
            said = counted(len(folder.others), "file is no job record", "files are no job records")
            err().print(Text(f"{said}: {few}"), soft_wrap=True)
        return folder
    from airwarrant.records.archive import Archive

    assert archive is not None
    return Kept(open_.enter_context(Archive.open(archive)))


def _runner(open_: ExitStack, asked: "Asked", on: str, processes: int) -> "Runner":
    if on:
        from airwarrant.replay.cluster import Cluster

        cluster = Cluster(asked, on)
        open_.callback(cluster.close)
        return cluster
    from airwarrant.replay.pool import Pool

    return Pool(asked, processes, _died)


def _died(job: str, code: int | None) -> None:
    how = f"signal {-code}" if code is not None and code < 0 else f"status {code}"
    err().print(Text(f"a process ended with {how} while it had {job}; the job is tried once more by itself", "yellow"))


def _processes() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def _progress(total: int) -> Iterator[Callable[[int], object]]:
    from rich.progress import Progress  # only here: it would slow every start

    console = err()
    with Progress(console=console, transient=True, disable=not console.is_terminal) as progress:
        bar = progress.add_task("jobs", total=total)
        yield lambda done: progress.update(bar, completed=done)
