"""`airwarrant audit verify`: every page, every entry and every part held to its digest, and every job evaluated again."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from airwarrant.cli.audit_show import Json
from airwarrant.cli.console import err, out, put
from airwarrant.cli.keep import ArchiveOption, archive_path
from airwarrant.counted import counted
from airwarrant.errors import ArchiveError, CallError, Fault
from airwarrant.records import verify as checks
from airwarrant.records.archive import Archive
from airwarrant.records.findings import Finding
from airwarrant.records.layout import PAGE_SIZE
from airwarrant.records.pages import damaged_pages, damaged_pages_of_file
from airwarrant.records.proof import Root, root_of

#: Pieces of work a process gets one after the other; each composes the policies it meets anew.
_TURNS = 8
_ROOT = re.compile("[0-9a-f]{64}")
_TO_DO = (
    "Leave this file as it is. What it lacks stands in a copy or an export from before: check that with "
    "`airwarrant audit verify --archive COPY`, an export once `airwarrant audit import` has taken it in."
)
#: What evaluating again tells of entries that agree with their digests.
_AGAIN = {"not-evaluated", "result-differs"}
_OTHER_PROGRAM = (
    "Every digest agrees. If another airwarrant kept these jobs, which `airwarrant audit show ENTRY` tells, check them with that one. "
    "Whether the file was written anew since, a root that was published shows: `airwarrant audit verify --root ROOT --size COUNT`."
)


def verify(
    archive: ArchiveOption = None,
    root: Annotated[str, typer.Option(help="A root that you published; --size says of how many entries.")] = "",
    size: Annotated[
        int | None, typer.Option(help="How many entries the root was published of.", metavar="COUNT", min=1)
    ] = None,
    evaluate: Annotated[
        bool,
        typer.Option("--evaluate/--no-evaluate", help="Evaluate every job again; else digests only, which is quick."),
    ] = True,
    first: Annotated[
        int,
        typer.Option("--from", help="Begin to evaluate at this entry, to go on with a check.", metavar="ENTRY", min=1),
    ] = 1,
    jobs: Annotated[
        int, typer.Option(help="How many processes evaluate at once.", metavar="COUNT", min=1, max=256)
    ] = 1,
    as_json: Json = False,
) -> None:
    """Check the archive: pages against their checksums, entries against their digests and the one before, parts against their
    digests, then each job evaluated again with its own policy on both evaluators. Exit 1 if anything is not as it was kept.

    Example: airwarrant audit verify --jobs 2
    """
    if root and size is None:
        raise CallError(
            [Fault("missing-value", "--root was given without --size", "of how many entries it was published")]
        )
    if size is not None and not root:
        raise CallError([Fault("missing-value", "--size was given without --root", "the root that was published")])
    if root and not _ROOT.fullmatch(root):
        raise CallError(
            [Fault("wrong-value", f"the root `{root}`", "64 digits and letters a to f, as `audit list` prints it")]
        )
    path = archive_path(archive)
    found: list[Finding] = []
    whole: Root | None = None
    sound: list[int] = []
    try:
        with Archive.open(path) as opened:
            found += damaged_pages(opened)
            found += checks.structure(opened)
            for one in checks.chain(opened):
                if isinstance(one, Finding):
                    found.append(one)
                else:
                    sound.append(one.number)
            if size is not None:
                found += checks.published(opened, root, size)
            if not found:
                whole = root_of(opened)
    except ArchiveError as error:
        found += _not_opened(path, error)
    else:
        found += _entries(path, sound, first if evaluate else None, jobs)
    _say(found, whole, len(set(sound) - {one.entry for one in found}), first if evaluate else None, as_json)
    if found:
        raise typer.Exit(1)


def _not_opened(path: Path, error: ArchiveError) -> Iterator[Finding]:
    """What the pages of a file say that is not opened as an archive; the fault itself if it is none."""
    if error.faults[0].code in ("no-archive", "cannot-read", "cannot-write", "newer-archive", "archive-busy"):
        raise error
    pages = list(damaged_pages_of_file(path))
    if error.faults[0].code == "not-an-archive" and (not pages or len(pages) * PAGE_SIZE >= path.stat().st_size):
        raise error  # a file of another kind: no page carries a checksum
    yield from pages
    yield Finding("not-opened", error.faults[0].found)


def _entries(path: Path, numbers: list[int], first: int | None, jobs: int) -> Iterator[Finding]:
    """Parts of entries, and jobs evaluated again, in processes of their own where more than one is asked for."""
    from rich.progress import Progress

    from airwarrant.desks.kept_again import check_entries, check_many

    console = err()
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("entries", total=len(numbers))
        if jobs == 1:
            for of_one in check_entries(path, numbers, first):
                yield from of_one
                bar.advance(task)
            return
        from concurrent.futures import ProcessPoolExecutor
        from multiprocessing import get_context

        many = max(1, -(-len(numbers) // (jobs * _TURNS)))
        batches = [numbers[i : i + many] for i in range(0, len(numbers), many)]
        with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
            waiting = [pool.submit(check_many, path, batch, first) for batch in batches]
            for batch, one in zip(batches, waiting, strict=True):
                yield from one.result()
                bar.advance(task, len(batch))


def _say(found: list[Finding], whole: Root | None, entries: int, first: int | None, as_json: bool) -> None:
    if as_json:
        data = {
            "sound": not found,
            "entries": entries,
            "root": whole.root if whole else None,
            "evaluated": first is not None,
            "evaluated_from": first,
            "findings": [{"code": one.code, "entry": one.entry, "page": one.page, "found": one.found} for one in found],
        }
        put(json.dumps(data, ensure_ascii=False, indent=1))
        return
    console = out()
    for one in found:
        text = Text(f"{one.where()}: ", style="bold")
        console.print(text.append(one.found, style="red").append(f" [{one.code}]", style="dim"), soft_wrap=True)
    if found:
        bad = counted(len(found), "thing is", "things are")
        sound = counted(entries, "entry is sound", "entries are sound")
        console.print(Text(f"{bad} not as kept; {sound}.", style="red"))
        digests_agree = all(one.code in _AGAIN for one in found)
        console.print(Text(_OTHER_PROGRAM if digests_agree else _TO_DO), soft_wrap=True)
        return
    if first is None:
        how = "; no job was evaluated again"
    else:
        jobs = "every job" if first == 1 else f"every job from entry {first} on"
        how = f", and {jobs} came out as it was kept"
    console.print(
        Text(
            f"Sound: {counted(entries, 'entry', 'entries')}, each page, entry and part agrees with its digest{how}.",
            style="green",
        )
    )
    if whole is not None:
        console.print(Text(f"root {whole.root}"), soft_wrap=True)
