"""`airwarrant accept`: a test-out against the targets of its result."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console
from rich.text import Text

from airwarrant.cli.console import err, mark_draft, out, put
from airwarrant.cli.figures import shown, span, table_of
from airwarrant.cli.keep import ArchiveFile, Keep, archive_path, keep_test_out
from airwarrant.cli.papers import Language, Pdf, Size, can_be_made, makes_pdf
from airwarrant.errors import CallError, Fault
from airwarrant.result.serial import read_result, to_bytes
from airwarrant.whole_file import write_files

if TYPE_CHECKING:
    from airwarrant.desks.made_from import MadeFrom

_STYLE = {"pass": "bold green", "conditional": "bold yellow", "fail": "bold red"}
_OF_TARGET = {
    "met": ("met", "green"),
    "close": ("too close", "yellow"),
    "agree": ("agree", "yellow"),
    "not-read": ("not read", "yellow"),
    "no-limit": ("no limit", "yellow"),
    "missed": ("missed", "red"),
    "gate": ("missed, gate", "red"),
    "gate-not-read": ("not read, gate", "red"),
}


def accept(
    result: Annotated[
        Path, typer.Argument(help="A result file made by `airwarrant run JOB --out` or `--with-inputs`.")
    ],
    testout: Annotated[Path | None, typer.Argument(help="The readings of the test-out, TOML or JSON.")] = None,
    blank: Annotated[bool, typer.Option(help="Print a blank test-out file of this result instead.")] = False,
    out_dir: Annotated[Path | None, typer.Option("--out", help="Also write the answer and its paper here.")] = None,
    policies: Annotated[
        Path | None, typer.Option(help="Take the policy from this folder; else from what the result carries.")
    ] = None,
    units: Annotated[str, typer.Option(help="Units of the tables: ip or si.")] = "ip",
    language: Language = "en",
    size: Size = "letter",
    pdf: Pdf = None,
    keep: Keep = False,
    archive: ArchiveFile = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the acceptance file instead of tables.")] = False,
) -> None:
    """Hold a test-out against its targets: pass, on condition, or fail with the likely cause. Exit status 1 where it fails.

    Example: airwarrant accept result-1042.json test-out-1042.toml --out papers
    """
    if units not in ("ip", "si"):
        raise CallError([Fault("units", f"--units {units}", "ip or si")])
    if out_dir is not None:
        can_be_made(language, size, pdf)
    known = read_result(result)
    if blank:
        from airwarrant.desks.blank_test_out import blank_test_out

        put(blank_test_out(known))
        return
    if testout is None:
        advice = "`airwarrant accept RESULT --blank > test-out.toml` writes one to fill in."
        raise CallError([Fault("no-test-out", "no test-out was given", "the file with its readings", advice=advice)])
    from airwarrant.job.reading_records import read_text

    read = (testout.name, read_text(testout))
    found, made = _answer(known, result, read, policies)
    if keep or archive is not None:
        _keep(archive_path(archive), known, made, found, read)
    if out_dir is not None:
        _write(out_dir, found, language, size, pdf)
    if as_json:
        put(to_bytes(found).decode())
    else:
        _print(out(), found, units)
    if found["answer"]["answer"] == "fail":
        raise typer.Exit(1)


def _answer(
    known: dict[str, Any], result: Path, read: tuple[str, bytes], policies: Path | None
) -> tuple[dict[str, Any], "MadeFrom"]:
    from airwarrant.desks.accept import accept as accepted
    from airwarrant.desks.made_from import made_from
    from airwarrant.shipped import policies_folder, roots

    file, text = read
    folders = roots(policies_folder(policies)) if policies is not None else ()
    made = made_from(known, result)
    return accepted(known, made, text, file, folders), made


def _keep(
    archive: Path, known: dict[str, Any], made: "MadeFrom", found: dict[str, Any], read: tuple[str, bytes]
) -> None:
    from airwarrant.records.kept import TestOutKept

    test_out = TestOutKept(*read, found)
    keep_test_out(archive, made.record, made.text, made.market, made.policy, known, test_out)


def _write(folder: Path, found: dict[str, Any], language: str, size: str, pdf: bool | None) -> None:
    from airwarrant.papers.accepted import accepted_files

    made = accepted_files(found, language=language, size=size, with_pdf=makes_pdf(pdf))
    write_files(folder, made)
    err().print(f"wrote {', '.join(made)} into {folder}")


def _print(console: Console, found: dict[str, Any], units: str) -> None:
    answer = found["answer"]
    console.print(Text(f"Job {found['job_id']} — test-out {found['dates']['test_out']}", style="bold"))
    mark_draft(console, found["market"])
    console.print(Text(answer["answer"].upper(), style=_STYLE[answer["answer"]]), Text(answer["said"]))
    for one in answer["why"]:
        of = f"{one['title']}{_at(one['name'])}: {_read(one, units)}" if one["title"] else ""
        style = _STYLE[one["comes_to"]].removeprefix("bold ")
        console.print(Text(f"  {of}{one['said']}", style=style))
    for cause in found["causes"]:
        console.print(Text(f"Differs from the prediction: {cause['said']}", style="bold"))
        console.print(Text(f"  {cause['correct']}"))
    _targets(console, found, units)
    _readings(console, found, units)
    _how(console, found)
    for remark in found["remarks"]:
        console.print(Text(f"{remark['said']}{_at(remark['name'])}"))
    for caution in found["cautions"]:
        console.print(Text(caution["said"], style="dim"))
    console.print(Text("Nothing here replaces local code or licensed practice.", style="dim"))


def _read(one: dict[str, Any], units: str) -> str:
    """What was read against its limit, where both are there."""
    limit = one.get("limit")
    if not one.get("after") or not limit:
        return ""
    return f"{_value(one['after'], units)}, {one['must_be']} {shown(limit['value'], limit['unit'], units)} \N{EM DASH} "


def _targets(console: Console, found: dict[str, Any], units: str) -> None:
    table = table_of("Targets; gates and combustion last")
    for title in ("target", "before", "predicted", "limit", "after", "answer"):
        table.add_column(title, overflow="fold")
    for one in found["targets"]:
        limit = one["limit"]
        said, style = _OF_TARGET[one["status"]]
        table.add_row(
            f"{one['title']}{_at(one['name'])}",
            _value(one["before"], units),
            span(one["predicted"], units) if one["predicted"] and "plus_minus" in one["predicted"] else "",
            f"{one['must_be']} {shown(limit['value'], limit['unit'], units)}" if limit else "none on record",
            _value(one["after"], units),
            Text(said, style=style),
        )
    console.print(table)


def _readings(console: Console, found: dict[str, Any], units: str) -> None:
    table = table_of("Readings: before, predicted at the fan setting read, after; the error is after less predicted")
    for title in ("reading", "before", "predicted", "after", "error", "in its ±"):
        table.add_column(title, overflow="fold")
    for one in found["readings"]:
        error = one["error"]
        table.add_row(
            f"{one['title']}{_at(one['name'])}",
            _value(one["before"], units),
            span(one["predicted"], units) if one["predicted"] else "",
            _value(one["after"], units),
            shown(error["value"], error["unit"], units, sign=True) if error else "",
            f"{error['in_plus_minus']:+.1f}" if error and error["in_plus_minus"] is not None else "",
        )
    console.print(table)


def _how(console: Console, found: dict[str, Any]) -> None:
    table = table_of("How it was read")
    for title in ("condition", "before, or chosen", "at test-out", "comparable"):
        table.add_column(title, overflow="fold")
    for one in found["conditions"]:
        fine = Text("yes", style="green") if one["fine"] else Text("no", style="yellow")
        table.add_row(one["title"], one["before"], one["after"], fine)
    console.print(table)


def _value(one: dict[str, Any] | None, units: str) -> str:
    return "" if one is None else shown(one["value"], one["unit"], units)


def _at(name: str) -> str:
    return "" if name == "house" else f", {name}"
