"""`airwarrant audit erase`: personal data of a kept job taken out on request; the archive says that it was, when and why."""

import json
import sys
from collections.abc import Iterable
from typing import Annotated

import typer
from rich.text import Text

from airwarrant.cli.audit_entries import entries_named
from airwarrant.cli.audit_show import Json
from airwarrant.cli.console import err, out, put
from airwarrant.cli.keep import ArchiveOption, archive_path, now
from airwarrant.counted import numbered
from airwarrant.errors import CallError, Fault
from airwarrant.records.archive import Archive
from airwarrant.records.erase import erase as erased
from airwarrant.records.kept import Entry


def erase(
    entry: Annotated[str, typer.Argument(help="Number of an entry, or of a job: then of every entry of it.")],
    why: Annotated[str, typer.Option(help="Why; it stays for good, so it must name nobody.")],
    archive: ArchiveOption = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask; it cannot be undone.")] = False,
    as_json: Json = False,
) -> None:
    """Erase name, address, what the homeowner told, notes and photo references of a kept job. The job can still be checked and
    proved. Copies, exports and papers elsewhere are not touched: erase them too; exit 1 if the answer to
    the question is no.

    Example: airwarrant audit erase 1042 --why "asked for by letter"
    """
    path = archive_path(archive)
    with Archive.open(path, write=path.exists()) as opened:
        entries = entries_named(opened, entry)
        held = _holding(opened, entries)
        if held and not yes:
            err().print(f"Personal data of {_entries(held)}, job {entries[0].job}, will be gone for good.")
            if as_json or not sys.stdin.isatty():
                found = "nothing was erased: there is nobody to ask"
                raise CallError([Fault("not-confirmed", found, advice="Run it again with --yes.")])
            if not typer.confirm("Erase it?", err=True):
                out().print("Nothing was erased.")
                raise typer.Exit(1)
        made = erased(opened, entries, why=why, kept_at=now())
        others = _holding(opened, opened.entries(job=made.job))
    if as_json:
        put(json.dumps({"entry": made.number, "erased": made.said["of"], "still_held": others}))
        return
    console = out()
    console.print(Text(f"Erased the personal data of {_entries(made.said['of'])}; entry {made.number} says so."))
    if others:
        said = _entries(others).capitalize()
        console.print(Text(f"{said} of the same job still {'holds' if len(others) == 1 else 'hold'} some."))
    console.print("Copies, exports and papers elsewhere are not touched: erase them too.")


def _holding(archive: Archive, entries: Iterable[Entry]) -> list[int]:
    """Numbers of the entries whose personal data is still there."""
    return [one.number for one in entries if "personal" in one.parts and not archive.erased_by(one)]


def _entries(numbers: Iterable[int]) -> str:
    return numbered(numbers, "entry", "entries")
