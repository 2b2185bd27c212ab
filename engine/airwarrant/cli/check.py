"""`airwarrant check`: is a record good enough to prescribe from."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.text import Text

from airwarrant.cli.console import complain, out, put
from airwarrant.cli.figures import table_of
from airwarrant.cli.job_file import find_job
from airwarrant.cli.policy_tables import as_data, fault_data
from airwarrant.desks.gaps import Gaps, Missing, gaps
from airwarrant.errors import RecordError
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import read_job
from airwarrant.policy.cache import PolicyCache
from airwarrant.pricing.exact import money_text
from airwarrant.shipped import policies_folder, roots

#: Faults of the file itself, not of what it records: the call is wrong, and the answer is not no.
_UNREADABLE = {"cannot-read", "unknown-format"}
_SUBJECTS_SHOWN = 4


def check(
    job: Annotated[
        Path, typer.Argument(help="A job record, TOML or JSON; or the name of a shipped scenario, such as job-1042.")
    ],
    market: Annotated[str, typer.Option(help="Check under this market instead of the record's own.")] = "",
    policies: Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say whether a record is good enough to prescribe from: faults, what to read first, what looks odd; exit 1 if it is not.

    Example: airwarrant check scenarios/job-1042.toml
    """
    path = find_job(job)
    try:
        record = read_job(path)
    except RecordError as error:
        if _UNREADABLE & {fault.code for fault in error.faults}:
            raise
        _faulty(error, as_json)
        raise typer.Exit(1) from None
    record = replace(record, market=market or record.market)
    policy = PolicyCache(roots(policies_folder(policies))).policy(record.market, record.dates)
    with Evaluator(policy, detail=False) as evaluator:
        found = gaps(evaluator.run(record))
    if as_json:
        put(
            json.dumps(
                {"good_enough": found.good_enough, "faults": [], **as_data(found)},
                ensure_ascii=False,
                indent=1,
                default=money_text,
            )
        )
    else:
        _print(out(), found)
    if not found.good_enough:
        raise typer.Exit(1)


def _faulty(error: RecordError, as_json: bool) -> None:
    if as_json:
        data: dict[str, Any] = {"good_enough": False, "faults": [fault_data(fault) for fault in error.faults]}
        put(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        complain(error)


def _print(console: Console, found: Gaps) -> None:
    console.print(Text(f"Job {found.job} — {found.market}", style="bold"))
    if found.good_enough:
        console.print(Text("Good enough to prescribe from.", style="green"))
    else:
        console.print(Text("Not good enough to prescribe from yet.", style="red"))
    for wait in found.waits:
        rule = f"  ({wait.rule})" if wait.rule else ""
        console.print(Text(f"  {wait.kind}: {wait.text}{rule}"), soft_wrap=not console.is_terminal)
    _missing(console, [one for one in found.missing if one.lines or one.asked_by], found.currency)
    most = found.most_money
    if most is not None and most.total is not None:
        text = f"Most money hangs on: {most.title} ({_few(most.subjects)}), {_total(most)} {found.currency}".rstrip()
        console.print(Text(text, style="bold"))
    rest = [one.name for one in found.missing if not one.lines and not one.asked_by]
    if rest:
        console.print(
            Text(f"\nAlso not known, and deciding no line here: {', '.join(dict.fromkeys(rest))}", style="dim")
        )
    if found.questions:
        console.print(Text("\nLook again", style="bold"))
    for question in found.questions:
        place = f"{question.place}: " if question.place else ""
        console.print(Text(f"  {place}{question.text}"), soft_wrap=not console.is_terminal)
    console.print(
        Text("\nNothing here replaces local code or licensed practice. What is unknown is not safe.", style="dim")
    )


def _total(one: Missing) -> str:
    """What the scope comes to with either answer."""
    if one.total is None or not one.money:
        return ""
    least, most = one.total
    return f"{least:,.0f} to {most:,.0f}"


def _missing(console: Console, missing: list[Missing], currency: str) -> None:
    if not missing:
        return
    console.print()
    table = table_of("Not known: first what the offer waits for, then what could decide most")
    table.add_column("offer waits")
    table.add_column("lines", justify="right")
    table.add_column(f"total, {currency}" if currency else "total", justify="right")
    for title in ("what", "of", "write it in", "could decide"):
        table.add_column(title, overflow="fold")
    for one in missing:
        note = f" ({one.note})" if one.note else ""
        waits = "yes" if one.asked_by else ""
        count = str(len(one.lines)) if one.lines else ""
        table.add_row(
            waits, count, _total(one), f"{one.title}{note}", _few(one.subjects), Text(one.where), _few(one.lines)
        )
    console.print(table)


def _few(names: tuple[str, ...]) -> str:
    more = f" and {len(names) - _SUBJECTS_SHOWN} more" if len(names) > _SUBJECTS_SHOWN else ""
    return ", ".join(names[:_SUBJECTS_SHOWN]) + more
