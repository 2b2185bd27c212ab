"""`airwarrant audit prove`: a proof that an entry stands in the archive, checked by anybody with Python and the published root."""

import json
from pathlib import Path
from typing import Annotated

import typer

from airwarrant.cli.audit_entries import entries_named
from airwarrant.cli.console import err, put
from airwarrant.cli.keep import ArchiveOption, archive_path
from airwarrant.errors import CallError, Fault
from airwarrant.records import proof
from airwarrant.records.archive import Archive
from airwarrant.records.kept import RUN
from airwarrant.whole_file import write_file


def prove(
    entry: Annotated[str, typer.Argument(help="Number of an entry, or of a job: then its newest run.")] = "",
    archive: ArchiveOption = None,
    size: Annotated[
        int | None,
        typer.Option(
            help="Prove against the root of this many entries; else of all there are.", metavar="COUNT", min=1
        ),
    ] = None,
    since: Annotated[
        int | None,
        typer.Option(
            help="Prove instead that the archive of this many entries has only grown since.", metavar="COUNT", min=1
        ),
    ] = None,
    script: Annotated[bool, typer.Option("--script", help="Print the script that checks a proof instead.")] = False,
    out_file: Annotated[Path | None, typer.Option("--out", help="Write it here instead of printing it.")] = None,
) -> None:
    """Write a proof that an entry is in the archive, or the script that checks one: it needs Python alone and the root you published.

    Example: airwarrant audit prove 1042 --out proof-1042.json
    """
    if script:
        text = proof.script()
    else:
        with Archive.open(archive_path(archive)) as opened:
            if since is not None:
                found = proof.prove_growth(opened, since, size)
            elif not entry:
                raise CallError(
                    [Fault("no-entry", "no entry was named", "an entry's number, a job's, --since or --script")]
                )
            else:
                named = entries_named(opened, entry)
                runs = [one for one in named if one.kind == RUN] or named
                found = proof.prove(opened, runs[-1].number, size)
        text = json.dumps(found, ensure_ascii=False, indent=1) + "\n"
    if out_file is None:
        put(text)
    else:
        write_file(out_file, text.encode())
        err().print(f"wrote {out_file}")
