"""What a test-out came to, for the homeowner's file: the answer, and before, predicted and after side by side."""

import re
from collections.abc import Mapping
from typing import Any

from airwarrant.errors import CallError, Fault
from airwarrant.papers.page import page
from airwarrant.papers.pdf import pdf
from airwarrant.papers.sheet import Sheet
from airwarrant.papers.words import words_of
from airwarrant.papers.write import SIZES

_UNSAFE = re.compile(r"[^A-Za-z0-9_-]+")


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

    if size not in SIZES:
        raise CallError([Fault("paper-size", f"--size {size}", " or ".join(SIZES))])
    job = _UNSAFE.sub("-", str(document["job_id"]))
    html = accepted(Sheet(document, words_of(language)), size)
    made = {f"acceptance-{job}.json": to_bytes(dict(document)), f"accepted-{job}.html": html.encode("utf-8")}
    if with_pdf:
        made[f"accepted-{job}.pdf"] = pdf(html)
    return made
