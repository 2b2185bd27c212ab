"""Jobs of an archive as the owner's figures take them, within dates and of a market."""

from collections.abc import Callable, Iterator
from datetime import date

from airwarrant.policy.compose import overdue
from airwarrant.policy.files import read_sources
from airwarrant.records.archive import Archive
from airwarrant.records.kept import RUN, TEST_OUT, Entry
from airwarrant.records.policy_again import policy_folder
from airwarrant.season.job_figures import JobFigures, figures_of


def kept_jobs(
    archive: Archive,
    *,
    market: str = "",
    first: date | None = None,
    last: date | None = None,
    each: Callable[[], None] = lambda: None,
    without: Callable[[Entry], None] = lambda entry: None,
) -> Iterator[JobFigures]:
    """Yield the newest run of each job, with its test-outs; jobs that were kept without a result are left out.

    Parameters
    ----------
    market : str
        Only of this market; empty for all.
    first, last : date, optional
        Only jobs surveyed on these days or between them.
    each : callable
        Called once for every run that was looked at.
    without : callable
        Called with every run that was wanted and has no result to count.
    """
    for run in archive.runs():
        if _wanted(run.entry, market, first, last):
            result = run.result()
            if result is None:
                without(run.entry)
            else:
                # A job that is kept again, for a later visit say, was tested out all the same.
                tested = (archive.acceptance(one) for one in archive.entries(kind=TEST_OUT, job=run.entry.job))
                yield figures_of(result, [one for one in tested if one is not None])
        each()


def _wanted(entry: Entry, market: str, first: date | None, last: date | None) -> bool:
    day = date.fromisoformat(entry.dates["survey"])
    return (not market or entry.market == market) and (first is None or day >= first) and (last is None or day <= last)


def past_review(archive: Archive, on: date, market: str = "") -> tuple[str, ...]:
    """Return what of the markets' newest kept policies was due for review before a day, each with its place and markets."""
    newest = {entry.market: entry for entry in archive.entries(kind=RUN) if not market or entry.market == market}
    found: dict[str, list[str]] = {}
    for name, entry in sorted(newest.items()):
        days = {kind: date.fromisoformat(day) for kind, day in entry.dates.items()}
        with policy_folder(archive.policy_texts(entry)) as folder:
            for fault in overdue(read_sources((folder,), name, days), on):
                found.setdefault(f"{fault.place}: {fault.found}", []).append(name)
    return tuple(f"{text} ({', '.join(markets)})" for text, markets in sorted(found.items()))
