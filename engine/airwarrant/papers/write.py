"""The papers of one result: which there are, in which forms, and the files they become."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.errors import CallError, Fault
from airwarrant.papers.press import press
from airwarrant.papers.sheet import Sheet
from airwarrant.papers.words import words_of

#: What a job's id may not bring into the name of a file.
_UNSAFE = re.compile(r"[^A-Za-z0-9_-]+")
#: Sheets of paper that the pages are laid out for.
SIZES = ("letter", "A4")
#: Name of the one paper that is no page.
SPREADSHEET = "lines"


@dataclass(frozen=True, slots=True)
class Paper:
    """One paper: its file's name, and what makes its HTML of a sheet and a size of paper."""

    name: str
    html: Callable[[Sheet, str], str]


def papers() -> tuple[Paper, ...]:
    """Every paper, in the order in which they are handed over."""
    from airwarrant.papers.audit import audit
    from airwarrant.papers.proposal import proposal
    from airwarrant.papers.test_sheet import test_sheet
    from airwarrant.papers.work_order import work_order

    return (
        Paper("proposal", proposal),
        Paper("work-order", work_order),
        Paper("test-out", test_sheet),
        Paper("audit", audit),
    )


def make(
    result: Mapping[str, Any],
    *,
    language: str = "en",
    size: str = "letter",
    with_pdf: bool = False,
    only: Iterable[str] = (),
    progress: Callable[[str], None] = lambda name: None,
    processes: int = 1,
) -> dict[str, bytes]:
    """Return the papers of a result by file name.

    Parameters
    ----------
    result : mapping
        A result document; nothing else is read.
    language : str
        ``en`` or ``es``.
    size : {"letter", "A4"}
    with_pdf : bool
        Also make a PDF of each; needs WeasyPrint.
    only : iterable of str
        Names of the papers to make; all where there is none.
    progress : callable
        Told the name of each file before it is made.
    processes : int
        How many PDFs are printed at once; above 1 the calling program must stand the start of new processes.

    Raises
    ------
    CallError
        If the language, the size or a name is not known, or PDF cannot be made here.
    """
    check_size(size)
    known = papers()
    names = (*(paper.name for paper in known), SPREADSHEET)
    wanted = tuple(only) or names
    for name in wanted:
        if name not in names:
            raise CallError([Fault("no-paper", f"--only {name}", ", ".join(names))])
    sheet = Sheet(result, words_of(language))
    job = file_part(result)
    pages: dict[str, bytes] = {}
    with press(processes if with_pdf else 1) as printing:
        printed = {}
        # The last paper is the longest: printing it begins first.
        for paper in reversed(known):
            if paper.name not in wanted:
                continue
            name = f"{paper.name}-{job}"
            progress(f"{name}.html")
            html = paper.html(sheet, size)
            pages[name] = html.encode("utf-8")
            if with_pdf:
                progress(f"{name}.pdf")
                printed[name] = printing.print(html)
        made: dict[str, bytes] = {}
        for name in reversed(pages):
            made[f"{name}.html"] = pages[name]
            if name in printed:
                made[f"{name}.pdf"] = printed[name].result()
    if SPREADSHEET in wanted:
        from airwarrant.papers.spreadsheet import spreadsheet

        name = f"{SPREADSHEET}-{job}.xlsx"
        progress(name)
        made[name] = spreadsheet(sheet)
    return made


def check_size(size: str) -> None:
    """Check the name of a sheet of paper.

    Raises
    ------
    CallError
        If pages are not laid out for it.
    """
    if size not in SIZES:
        raise CallError([Fault("paper-size", f"--size {size}", " or ".join(SIZES))])


def file_part(document: Mapping[str, Any]) -> str:
    """Return the id of a document's job as a part of a file's name."""
    return _UNSAFE.sub("-", str(document["job_id"]))
