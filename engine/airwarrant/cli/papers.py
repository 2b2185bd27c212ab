"""`airwarrant papers`: the documents of a result, HTML, PDF and a spreadsheet."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from airwarrant.cli.console import err
from airwarrant.counted import counted
from airwarrant.errors import CallError, Fault
from airwarrant.result.serial import read_result
from airwarrant.whole_file import write_files

Language = Annotated[str, typer.Option(help="Language of the papers: en or es.")]
Size = Annotated[str, typer.Option(help="Sheet of paper: letter or A4.")]
Pdf = Annotated[
    bool | None, typer.Option("--pdf/--no-pdf", help="PDF too, or not; else where the extra `pdf` is installed.")
]


def papers(
    result: Annotated[Path, typer.Argument(help="A result file made by `airwarrant run JOB --out DIR` or `--json`.")],
    out_dir: Annotated[Path, typer.Option("--out", help="Folder to write the papers into.")],
    language: Language = "en",
    size: Size = "letter",
    only: Annotated[list[str] | None, typer.Option(help="Make only this paper; may be repeated.")] = None,
    pdf: Pdf = None,
) -> None:
    """Write the proposal, the work order, the test-out sheet, the audit sheet and the spreadsheet of a result.

    Example: airwarrant papers result-1042.json --out papers
    """
    can_be_made(language, size, pdf)
    write_papers(read_result(result), out_dir, language, size, only or (), pdf)


def write_papers(
    result: Mapping[str, Any], folder: Path, language: str, size: str, only: Sequence[str], pdf: bool | None
) -> None:
    """Make the papers of a result and write them, telling on stderr what is being made."""
    from airwarrant.papers.press import cores
    from airwarrant.papers.write import make

    console = err()
    made = make(
        result,
        language=language,
        size=size,
        with_pdf=makes_pdf(pdf),
        only=only,
        progress=lambda name: console.print(f"making {name}", style="dim"),
        processes=cores(),
    )
    write_files(folder, made)
    console.print(f"wrote {counted(len(made), 'paper')} into {folder}")


def can_be_made(language: str, size: str, pdf: bool | None) -> None:
    """Refuse what papers cannot be made in, before anything is evaluated or written."""
    from airwarrant.papers.pdf import lacking
    from airwarrant.papers.words import words_of
    from airwarrant.papers.write import check_size

    words_of(language)
    check_size(size)
    if pdf and (why := lacking()):
        raise _no_pdf(why)


def makes_pdf(asked: bool | None) -> bool:
    """Whether to make PDF: as asked, else where it can be made here; tells on stderr where it cannot."""
    from airwarrant.papers.pdf import lacking

    why = "" if asked is False else lacking()
    if asked and why:
        raise _no_pdf(why)
    if why:
        err().print(f"no PDF: {why}", style="yellow")
    return asked is not False and not why


def _no_pdf(why: str) -> CallError:
    return CallError([Fault("no-pdf", "PDF cannot be made here", advice=why)])
