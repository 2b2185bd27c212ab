"""`airwarrant season`: the owner's figures over the kept jobs."""

import json
from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.progress import Progress

from airwarrant.cli.console import err, out, put
from airwarrant.cli.days import day_option
from airwarrant.cli.keep import ArchiveOption, archive_path
from airwarrant.counted import counted
from airwarrant.errors import CallError, Fault
from airwarrant.whole_file import write_file


def season(
    archive: ArchiveOption = None,
    first: Annotated[datetime | None, day_option("--from", "Only jobs surveyed on this day or later.")] = None,
    last: Annotated[datetime | None, day_option("--to", "Only jobs surveyed on this day or before.")] = None,
    market: Annotated[str, typer.Option(help="Only jobs of this market.")] = "",
    on: Annotated[datetime | None, day_option("--on", "Day at which reviews are past due; else today.")] = None,
    html: Annotated[Path | None, typer.Option("--html", help="Also write one page of HTML with plots here.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say how the company did: what was measured, sold, proved and missed, by market, rule and task.

    Example: airwarrant season --from 2026-06-01 --to 2026-08-31 --html season.html
    """
    # Imported here: no other command needs it, and every start would pay for it.
    from airwarrant.cli.season_tables import print_figures
    from airwarrant.records.archive import Archive
    from airwarrant.season.company import gathered
    from airwarrant.season.data import data_of
    from airwarrant.season.kept_jobs import kept_jobs, past_review

    begin, end = (None if day is None else day.date() for day in (first, last))
    if begin is not None and end is not None and end < begin:
        raise CallError([Fault("dates", f"--from {begin} is after --to {end}", "a first day and a later last one")])
    console = err()
    with (
        Archive.open(archive_path(archive)) as opened,
        Progress(console=console, transient=True, disable=not console.is_terminal) as progress,
    ):
        bar = progress.add_task("kept jobs", total=len(opened))
        bare: list[int] = []
        jobs = kept_jobs(
            opened,
            market=market,
            first=begin,
            last=end,
            each=lambda: progress.advance(bar),
            without=lambda entry: bare.append(entry.number),
        )
        figures = gathered(jobs)
        day = date.today() if on is None else on.date()
        overdue = past_review(opened, day, market)
    if bare:
        told = counted(
            len(bare), "job kept without a result is not counted", "jobs kept without a result are not counted"
        )
        console.print(f"{told}, the first as entry {bare[0]}")
    if not figures.jobs:
        advice = "`airwarrant audit list` shows what is kept; `airwarrant run JOB --keep` keeps a job."
        raise CallError([Fault("no-jobs", "no kept job is of that market and those dates", advice=advice)])
    if html is not None:
        from airwarrant.season.page import season_page

        write_file(html, season_page(figures, overdue, day).encode("utf-8"))
        console.print(f"wrote {html}")
    if as_json:
        put(json.dumps(data_of(figures, overdue, day), ensure_ascii=False, indent=1))
    else:
        print_figures(out(), figures, overdue, day)
