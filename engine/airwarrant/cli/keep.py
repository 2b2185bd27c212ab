"""Where the archive is, and keeping what a command came to: `--keep` and `--archive` of `run` and `accept`."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from airwarrant.cli.console import err
from airwarrant.job.record import JobRecord

if TYPE_CHECKING:
    from airwarrant.records.kept import Entry, TestOutKept

#: The archive of a folder, where none is named.
NAME = "airwarrant.sqlite"
ArchiveOption = Annotated[
    Path | None, typer.Option("--archive", help=f"The archive; else {NAME} in this folder.", metavar="FILE")
]
Keep = Annotated[bool, typer.Option("--keep", help="Also keep it in the archive, where nothing is ever changed.")]
ArchiveFile = Annotated[
    Path | None,
    typer.Option("--archive", help=f"Keep it in this archive; else {NAME} in this folder.", metavar="FILE"),
]


def archive_path(given: Path | None) -> Path:
    """The archive to use."""
    return Path(NAME) if given is None else given


def now() -> str:
    """The time, UTC, as an entry of the archive has it."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def keep_run(
    archive: Path,
    record: JobRecord,
    text: bytes,
    market: str,
    policy: Mapping[str, str],
    result: Mapping[str, Any],
    reach: bytes | None = None,
) -> None:
    """Keep a run with what a later replay decides by, and say as which entry."""
    from airwarrant.records.archive import Archive

    with Archive.open(archive, write=True) as opened:
        entry = opened.keep(replace(_kept(record, text, market, policy, result), reach=reach))
    _say(entry, archive)


def keep_test_out(
    archive: Path,
    record: JobRecord,
    text: bytes,
    market: str,
    policy: Mapping[str, str],
    result: Mapping[str, Any],
    test_out: "TestOutKept",
) -> None:
    """Keep a test-out, after the run that it is of where that is not there yet, and say as which entries."""
    from airwarrant.records.archive import Archive
    from airwarrant.records.kept import RUN

    run = _kept(record, text, market, policy, result)
    digests = (record.digest, result["digests"]["policy"])
    with Archive.open(archive, write=True) as opened:
        of = [e for e in opened.entries(kind=RUN, job=record.id) if (e.job_digest, e.policy_digest) == digests]
        if not of:
            of = [opened.keep(run)]
            _say(of[0], archive)
        entry = opened.keep(replace(run, test_out=replace(test_out, of=of[-1].number)))
    _say(entry, archive)


def _kept(record: JobRecord, text: bytes, market: str, policy: Mapping[str, str], result: Mapping[str, Any]) -> Any:
    from airwarrant.records.kept import Kept, PolicyFiles

    return Kept(
        record=record,
        text=text,
        market=market,
        policy=PolicyFiles(result["digests"]["policy"], policy),
        kept_at=now(),
        result=result,
    )


def _say(entry: "Entry", archive: Path) -> None:
    err().print(f"kept {entry.kind} of job {entry.job} as entry {entry.number} in {archive}")
