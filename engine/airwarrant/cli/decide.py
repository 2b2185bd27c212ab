"""`airwarrant decide`: what homeowner and firm decided of a result's lines, written into the record; the scope follows."""

from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.text import Text

from airwarrant.cli.console import err, mark_draft, out, put
from airwarrant.cli.figures import table_of
from airwarrant.desks.decide import Decided, Decision, How
from airwarrant.desks.decide import decide as decided_on
from airwarrant.errors import CallError, Fault, unread
from airwarrant.result.serial import read_result, to_bytes
from airwarrant.session import Session
from airwarrant.shipped import policies_folder, roots
from airwarrant.whole_file import write_file

_ANSWERS = {"yes": "The offer may go out.", "held": "Not yet: the offer waits.", "no": "No offer: make safe first."}


def decide(
    result: Annotated[Path, typer.Argument(help="A result file made by `airwarrant run JOB --json` or `--out`.")],
    accept: Annotated[list[str] | None, typer.Option(help="A line the homeowner accepts; may be repeated.")] = None,
    decline: Annotated[list[str] | None, typer.Option(help="A line the homeowner declines; may be repeated.")] = None,
    leave_out: Annotated[
        list[str] | None, typer.Option(help="A line the firm leaves out against the rules; needs --reason and --by.")
    ] = None,
    reason: Annotated[str, typer.Option(help="Why.")] = "",
    by: Annotated[str, typer.Option(help="Who decided.")] = "",
    record: Annotated[
        Path | None, typer.Option(help="The job record; else the one the result names, beside it or in this folder.")
    ] = None,
    out_file: Annotated[
        Path | None, typer.Option("--out", help="Write a new record here; else the record gets blocks at its end.")
    ] = None,
    policies: Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")] = None,
    draft: Annotated[
        bool,
        typer.Option("--draft", help="Decide on a draft all the same: the record says that it was one."),
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the new result file.")] = False,
) -> None:
    """Record accepted, declined and left-out lines in the job record and show how the scope follows.

    Example: airwarrant decide result-1042.json --decline add-return@living-route --by "homeowner"
    """
    known = read_result(result)
    source = record or _record_of(known, result)
    text = _read(source)
    given: tuple[tuple[How, list[str]], ...] = (
        ("accepted", accept or []),
        ("declined", decline or []),
        ("left-out", leave_out or []),
    )
    decisions = [Decision(line, how, reason, by) for how, lines in given for line in lines]
    with Session(roots(policies_folder(policies))) as session:
        found = decided_on(
            known,
            text,
            source.name,
            decisions,
            lambda job: session.evaluate(job, market=known["market"]["name"], draft=draft),
            draft=draft,
        )
    _write(out_file or source, source, found.text)
    if as_json:
        put(to_bytes(dict(found.result)).decode())
    else:
        _print(out(), known, found, decisions)


def _record_of(known: dict[str, Any], result: Path) -> Path:
    """The record a result names: beside the result, else in this folder."""
    name = str(known["program"]["record"].get("file", ""))
    for folder in (result.parent, Path()):
        if name and Path(name).name == name and (folder / name).is_file():
            return folder / name
    found = f"the record `{name}` is neither beside the result nor in this folder"
    raise CallError([Fault("no-file", found, "the record the result was made from", advice="Give --record.")])


def _read(source: Path) -> bytes:
    try:
        return source.read_bytes()
    except OSError as error:
        raise CallError(
            [Fault("cannot-read", f"`{source}` cannot be read: {unread(error)}", "a job record")]
        ) from error


def _write(target: Path, source: Path, text: bytes) -> None:
    if target.suffix.lower() != source.suffix.lower():
        raise CallError([Fault("other-format", f"--out {target.name}", f"a name that ends in {source.suffix}")])
    write_file(target, text)
    err().print(f"wrote {target}")


def _print(console: Console, before: dict[str, Any], found: Decided, decisions: list[Decision]) -> None:
    console.print(Text(f"Job {found.result['job_id']} — decided", style="bold"))
    mark_draft(console, found.result["market"])
    for one in decisions:
        by = f", by {one.by}" if one.by else ""
        console.print(Text(f"  {one.line}: {one.how}{by}{f': {one.reason}' if one.reason else ''}"))
    if before["digests"]["policy"] != found.result["digests"]["policy"]:
        console.print(
            Text("The policy is not the one of that result: some of this follows from the policy.", style="red")
        )
    if found.followed:
        table = table_of("How the scope follows")
        for title in ("line", "was", "is", "why"):
            table.add_column(title, overflow="fold")
        for one_line in found.followed:
            table.add_row(one_line.line, one_line.before, one_line.after, one_line.why)
        console.print(table)
    else:
        console.print("The scope stays as it was.")
    answer = found.result["sellable"]["answer"]
    console.print(Text(_ANSWERS[answer], style="green" if answer == "yes" else "red"))
    for reason in found.result["sellable"]["why"]:
        console.print(f"  {reason}")
    console.print(Text("Nothing here replaces local code or licensed practice.", style="dim"))
