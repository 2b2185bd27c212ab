"""What a test-out came to, for the homeowner's file: the answer, and before, predicted and after side by side."""

from collections.abc import Mapping
from typing import Any

from airwarrant.papers.page import page
from airwarrant.papers.pdf import pdf
from airwarrant.papers.sheet import Sheet
from airwarrant.papers.words import words_of
from airwarrant.papers.write import check_size, file_part


def accepted(sheet: Sheet, size: str) -> str:
    """Return the paper as HTML.

    Parameters
    ----------
    sheet : Sheet
        Of an acceptance document, as `airwarrant.desks.accept.accept` gives it.
    size : {"letter", "A4"}
    """
    targets = sheet.result["targets"]
    cites = dict.fromkeys(one["limit"]["cite"] for one in targets if one["limit"] and one["limit"]["cite"])
    return page(
        "accepted",
        sheet,
        size,
        house=[one for one in targets if not one["safety"] and one["place"] == "house"],
        places=[one for one in targets if not one["safety"] and one["place"] != "house"],
        safety=[one for one in targets if one["safety"]],
        notes={cite: number for number, cite in enumerate(cites, 1)},
    )


def accepted_files(
    document: Mapping[str, Any], *, language: str = "en", size: str = "letter", with_pdf: bool = False
) -> dict[str, bytes]:
    """Return the paper of an acceptance document by file name, and the document itself.

    Raises
    ------
    CallError
        If the language or the size is not known, or PDF cannot be made here.
    """
    from airwarrant.result.serial import to_bytes

    check_size(size)
    job = file_part(document)
    html = accepted(Sheet(document, words_of(language)), size)
    made = {f"acceptance-{job}.json": to_bytes(dict(document)), f"accepted-{job}.html": html.encode("utf-8")}
    if with_pdf:
        made[f"accepted-{job}.pdf"] = pdf(html)
    return made
