"""Tables of `airwarrant policy check`: cases that failed, what they cover, and what is not verified."""

from collections.abc import Sequence
from typing import Any

from rich.table import Table
from rich.text import Text

from airwarrant.cli.console import out
from airwarrant.cli.policy_tables import fault_data
from airwarrant.counted import counted
from airwarrant.desks.cases import CasesChecked
from airwarrant.desks.unverified import Unverified


def print_cases(checked: CasesChecked, *, whole: bool) -> None:
    """Print every fault and failure, then what the cases cover; of some cases only, coverage would say nothing."""
    console = out()
    for fault in checked.faults:
        console.print(Text(str(fault)), soft_wrap=True)
    if checked.failures and console.is_terminal:
        table = Table("case", "expected", "found", "place", box=None)
        for failure in checked.failures:
            table.add_row(failure.case.title, failure.expected, failure.found, str(failure.at.at))
        console.print(table)
    else:
        for failure in checked.failures:
            console.print(Text(str(failure)), soft_wrap=True)
    if whole:
        for lacking in checked.coverage.uncovered():
            console.print(Text(f"uncovered: {lacking}", style="yellow"), soft_wrap=True)
        for what, (covered, of) in checked.coverage.counts().items():
            share = 100.0 * covered / of if of else 100.0
            console.print(Text(f"{what}: {covered} of {of} ({share:.0f} %)"))
    failed = len({failure.case.place for failure in checked.failures})
    bad = checked.faults or checked.failures
    console.print(Text(f"{counted(checked.count, 'case')}, {failed} failed", style="red" if bad else "green"))


def cases_data(checked: CasesChecked, *, whole: bool) -> dict[str, Any]:
    """Return what came of the cases as JSON has it."""
    out: dict[str, Any] = {
        "count": checked.count,
        "faults": [fault_data(fault) for fault in checked.faults],
        "failures": [
            {
                "case": failure.case.title,
                "expected": failure.expected,
                "found": failure.found,
                "file": failure.at.at.file,
                "line": failure.at.at.line,
                "column": failure.at.at.column,
            }
            for failure in checked.failures
        ],
    }
    if whole:
        out["coverage"] = {
            what: {"covered": covered, "of": of} for what, (covered, of) in checked.coverage.counts().items()
        }
        out["uncovered"] = [
            {"rule": one.rule, "fires": one.fires, "nearly": one.nearly, "clauses": list(one.clauses)}
            for one in checked.coverage.uncovered()
        ]
    return out


def print_unverified(found: Sequence[Unverified]) -> None:
    """Print what is not verified, with its place; adopted law first, since a job may rest on it."""
    console = out()
    ordered = sorted(found, key=lambda one: (not one.code, one.place))
    if console.is_terminal:
        table = Table("what", "name", "lacks", "cited", "place", box=None)
        for one in ordered:
            name = Text(one.name, style="bold" if one.code else "")
            table.add_row(one.section, name, ", ".join(one.lacks), one.cite, str(one.place))
        console.print(table)
    else:
        for one in ordered:
            law = ", adopted law" if one.code else ""
            cited = f": {one.cite}" if one.cite else ""
            console.print(
                Text(f"{one.place}: {one.section} {one.name}: {', '.join(one.lacks)}{law}{cited}"), soft_wrap=True
            )
    of_law = sum(one.code for one in ordered)
    console.print(Text(f"{len(ordered)} to verify, {of_law} of them adopted law"))


def unverified_data(found: Sequence[Unverified]) -> list[dict[str, Any]]:
    """Return what is not verified as JSON has it."""
    return [
        {
            "section": one.section,
            "name": one.name,
            "title": one.title,
            "lacks": list(one.lacks),
            "cite": one.cite,
            "code": one.code,
            "layer": one.layer,
            "file": one.place.file,
            "line": one.place.line,
            "column": one.place.column,
        }
        for one in found
    ]
