"""`airwarrant papers`: the documents of a result, HTML, PDF and a spreadsheet."""

from pathlib import Path
from typing import Annotated

import typer

from airwarrant.cli.console import err
from airwarrant.result.serial import read_result


def papers(
    result: Annotated[Path, typer.Argument(help="A result file made by `airwarrant run JOB --out DIR` or `--json`.")],
    out_dir: Annotated[Path, typer.Option("--out", help="Folder to write the papers into.")],
    language: Annotated[str, typer.Option(help="Language of the homeowner's paper: en or es.")] = "en",
    size: Annotated[str, typer.Option(help="Sheet of paper: letter or A4.")] = "letter",
    only: Annotated[list[str] | None, typer.Option(help="Make only this paper; may be repeated.")] = None,
    pdf: Annotated[bool, typer.Option(help="Make PDF too; needs the extra `pdf`.")] = True,
) -> None:
    """Write the proposal, the work order, the test-out sheet, the audit sheet and the spreadsheet of a result.

    Example: airwarrant papers result-1042.json --out papers
    """
    from airwarrant.papers.write import make, write

    console = err()
    known = read_result(result)
    made = make(
        known,
        language=language,
        size=size,
        with_pdf=pdf,
        only=only or (),
        progress=lambda name: console.print(f"making {name}", style="dim"),
    )
    write(out_dir, made)
    console.print(f"wrote {len(made)} files into {out_dir}")
