"""`airwarrant near`: verdicts of a result that are too close to call."""

import json
from dataclasses import asdict
from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from airwarrant.cli.console import out, put
from airwarrant.cli.figures import shown, table_of
from airwarrant.desks.near import Near
from airwarrant.desks.near import near as near_of
from airwarrant.result.serial import read_result

_WHEN = {"before-sale": "before the sale", "during-work": "during the work", "at-test-out": "at test-out"}


def near(
    result: Annotated[Path, typer.Argument(help="A result file made by `airwarrant run JOB --json` or `--out`.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """List every verdict inside its guard band: margin, ±, the chance that it meets the limit, and what it decides.

    Example: airwarrant near result-1042.json
    """
    found = near_of(read_result(result))
    if as_json:
        put(json.dumps([asdict(one) for one in found], ensure_ascii=False, indent=1))
        return
    console = out()
    if not found:
        console.print("Nothing is too close to call: no reading lies within its ± of a limit.")
        return
    table = table_of("Too close to call: the most open first")
    table.add_column("chance", justify="right")
    for title in ("what", "it says", "decides"):
        table.add_column(title, overflow="fold")
    for one in found:
        table.add_row(f"{one.probability:.2f}", Text(_what(one)), one.word, Text(_decides(one)))
    console.print(table)
    console.print(
        Text("The chance is that the true value meets the limit, if the reading is off by chance alone.", style="dim")
    )


def _what(one: Near) -> str:
    of = "" if one.subject == "house" else f" of {one.subject}"
    time = "" if one.time == "found" else f", {one.time}"
    reading, limit = shown(one.reading, one.unit, "ip"), shown(one.limit, one.unit, "ip")
    margin, band = _apart(reading, limit), shown(one.band, one.unit, "ip").split(" ", 1)[0]
    side = "inside" if one.margin >= 0 else "past"
    return f"{one.title}{of}{time}: {reading}, {one.must_be} {limit} asked; {margin} {side}, ± {band}"


def _apart(reading: str, limit: str) -> str:
    """The distance of two printed amounts: a reader who takes one from the other gets the same."""
    (first, unit), (second, _) = reading.split(" ", 1), limit.split(" ", 1)
    apart = abs(Decimal(first.replace(",", "")) - Decimal(second.replace(",", "")))
    return f"{apart:,} {unit}"


def _decides(one: Near) -> str:
    when = _WHEN.get(one.when, one.when)
    return ", ".join(one.lines) + (f"; read again {when}" if when else "")
