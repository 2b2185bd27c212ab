"""`airwarrant why`: the reason tree of one line, from a result file."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from airwarrant.cli.console import out, put
from airwarrant.result.serial import read_result
from airwarrant.result.why import Row
from airwarrant.result.why import why as rows_of

_STYLES = {"head": "bold", "rule": "cyan", "clause": "", "reading": "green", "limit": "yellow", "note": ""}


def why(
    result: Annotated[Path, typer.Argument(help="A result file made by `airwarrant run JOB --json` or `--out`.")],
    line: Annotated[str, typer.Argument(help="A line (task@place), a declined line, a hold's name, or finding@place.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print the rows as JSON.")] = False,
) -> None:
    """Show why a line is there, why it is held, or why it was left out: down to reading and policy line.

    Example: airwarrant why result-1042.json replace-elbow@roof-elbow
    """
    rows = rows_of(read_result(result), line)
    if as_json:
        put(json.dumps([asdict(row) for row in rows], ensure_ascii=False, indent=1))
        return
    console = out()
    for row, lead in zip(rows, leads_of([row.depth for row in rows]), strict=True):
        console.print(_shown(row, lead, console.width), soft_wrap=True)


def leads_of(depths: list[int]) -> list[str]:
    """Lines that join a row to its parent, as a tree is drawn on paper."""
    leads = []
    for i, depth in enumerate(depths):
        lead = ""
        for level in range(1, depth + 1):
            later = next((d for d in depths[i + 1 :] if d <= level), 0)
            more = later == level
            if level == depth:
                lead += "├ " if more else "└ "
            else:
                lead += "│ " if more else "  "
        leads.append(lead)
    return leads


def _shown(row: Row, lead: str, width: int) -> Text:
    """One row with its place at the right margin; a row too long for the margin carries it on the next line."""
    text = Text(lead, style="dim")
    text.append(row.text, style=_STYLES[row.mark])
    if not row.place:
        return text
    gap = width - len(lead) - len(row.text) - len(row.place) - 2
    if gap >= 1:
        text.append(" " + "·" * gap + " ", style="dim")
    else:
        text.append("\n" + " " * max(width - len(row.place), len(lead)))
    text.append(row.place, style="dim")
    return text
