"""`airwarrant audit export` and `import`: the archive as one file of text, and taken in from one."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from airwarrant.cli.audit_show import Json
from airwarrant.cli.console import err, out, put
from airwarrant.cli.keep import ArchiveOption, archive_path, now
from airwarrant.counted import counted
from airwarrant.errors import CallError, Fault, unread
from airwarrant.records.archive import Archive
from airwarrant.records.export import export_lines
from airwarrant.records.proof import root_of
from airwarrant.records.take_in import take_in
from airwarrant.whole_file import told_plainly, writing


def export(
    out_file: Annotated[Path, typer.Option("--out", help="The file to write.")],
    archive: ArchiveOption = None,
    as_json: Json = False,
) -> None:
    """Write the whole archive into one file of text, each part held to its digest on the way. It holds personal data that is there.

    Example: airwarrant audit export --out jobs.jsonl
    """
    path = archive_path(archive)
    with Archive.open(path) as opened:
        total = len(opened)
        root = root_of(opened)
        with told_plainly(out_file), writing(out_file) as file, _progress(total) as tick:
            for line in export_lines(opened, tick):
                file.write(line)
    if as_json:
        put(json.dumps({"size": root.size, "root": root.root}, indent=1))
    err().print(f"wrote {counted(total, 'entry', 'entries')} into {out_file}")


def import_(
    file: Annotated[Path, typer.Argument(help="A file that `airwarrant audit export` wrote.")],
    archive: ArchiveOption = None,
    behind: Annotated[
        bool, typer.Option("--behind", help="Put entries of another archive behind those that are there.")
    ] = False,
    as_json: Json = False,
) -> None:
    """Take in an export: into an archive that is not there yet, one that holds the first entries of the same, or behind those of
    another. All of it or nothing; what is damaged or does not follow is refused.

    Example: airwarrant audit import jobs.jsonl --archive copy.sqlite
    """
    path = archive_path(archive)
    try:
        source = file.open("rb")
    except OSError as error:
        raise CallError([Fault("cannot-read", f"`{file}` cannot be read: {unread(error)}", "an export")]) from error
    # One that is refused leaves an archive of nothing where there was none: another program may have begun to keep jobs in it.
    with source, Archive.open(path, write=True) as opened, _progress(None) as tick:
        added = take_in(opened, source, file.name, tick, behind=now() if behind else "")
        root = root_of(opened)
    if as_json:
        put(json.dumps({"taken_in": added, "size": root.size, "root": root.root}, indent=1))
        return
    out().print(
        Text(f"Took in {counted(added, 'entry', 'entries')}; {path} has {root.size}, root {root.root}"), soft_wrap=True
    )


@contextmanager
def _progress(total: int | None) -> Iterator[Callable[[int], None]]:
    """A bar on a terminal, nothing elsewhere."""
    from rich.progress import Progress

    console = err()
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("entries", total=total)
        yield lambda number: bar.update(task, completed=number)
