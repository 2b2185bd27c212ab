"""`airwarrant policy`: check policy files, show where a value comes from, print the dictionary."""

import json
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from airwarrant.cli.console import put
from airwarrant.cli.days import day_option
from airwarrant.cli.lazy import Command, lazy_group
from airwarrant.cli.policy_tables import as_data, fault_data, print_check, print_entries
from airwarrant.errors import CallError, Fault
from airwarrant.policy.cases import FOLDER
from airwarrant.policy.compose import compose
from airwarrant.policy.vocabulary import dictionary
from airwarrant.shipped import policies_folder, roots

_COMMANDS = {
    "show": Command("airwarrant.cli.policy_show:show"),
    "diff": Command("airwarrant.cli.policy_diff:diff"),
    "replay": Command("airwarrant.cli.policy_replay:replay"),
    # a value may be negative
    "set": Command("airwarrant.cli.policy_set:set_value", {"ignore_unknown_options": True}),
    "new": Command("airwarrant.cli.policy_new:new"),
    "cases": Command("airwarrant.cli.policy_cases:cases"),
}
policy = typer.Typer(
    cls=lazy_group(_COMMANDS),
    help="Check, show, compare, replay, set and start policies, and write their cases.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)

Policies = Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON.")]


@policy.command()
def check(
    path: Annotated[Path | None, typer.Argument(help="A policy folder, or one file; else the whole folder.")] = None,
    policies: Policies = None,
    on: Annotated[
        datetime | None,
        day_option("--on", "Warn of reviews overdue, and layers not begun, on this day."),
    ] = None,
    cases: Annotated[bool, typer.Option("--cases", help="Also run the cases, and say what they cover.")] = False,
    unverified: Annotated[bool, typer.Option("--unverified", help="List what nobody has verified.")] = False,
    market: Annotated[
        list[str] | None, typer.Option(help="Only cases and unverified values of this market; may be given again.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Report every fault of policy files, each with its place; exit 1 if there are any, or if a case fails.

    Example: airwarrant policy check policies --cases
    """
    # Imported here: it takes with it all that evaluates a job.
    from airwarrant.cli.policy_check import check_file, check_whole, folder_of, not_verified, run_cases
    from airwarrant.cli.policy_check_tables import cases_data, print_cases, print_unverified, unverified_data

    if path is not None and not path.exists():
        raise CallError([Fault("no-file", f"there is no `{path}`", "a policy folder or file")])
    file = path if path is not None and path.is_file() else None
    folder = folder_of(path, policies)
    day = on.date() if on else None
    if file is not None:
        found = check_file(file, policies, day)
    else:
        found = check_whole(policies_folder(path or policies), day)
    of_cases = file is not None and folder is not None and found.files[0].startswith(f"{FOLDER}/")
    # Cases of a broken policy would only say again what is broken.
    ran = run_cases(folder, market or (), file if of_cases else None) if folder and cases and not found.faults else None
    whole = not of_cases and not market
    open_ = not_verified(folder, market or ()) if folder and unverified and not found.faults else None
    if as_json:
        data = {
            "markets": found.markets,
            "files": found.files,
            "faults": [fault_data(f) for f in found.faults],
            "warnings": [fault_data(f) for f in found.warnings],
            **({"cases": cases_data(ran, whole=whole)} if ran else {}),
            **({"unverified": unverified_data(open_)} if open_ is not None else {}),
        }
        put(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        print_check(found)
        if ran:
            print_cases(ran, whole=whole)
        if open_ is not None:
            print_unverified(open_)
    if found.faults or (ran and (ran.faults or ran.failures)):
        raise typer.Exit(1)


@policy.command()
def words(
    market: Annotated[str, typer.Argument(help="Also the words of this market's policy.")] = "",
    policies: Policies = None,
    as_json: Json = False,
) -> None:
    """Print the dictionary: kinds, fields, closed words, units, and a market's checks, findings, tasks and groups.

    Example: airwarrant policy words copper-basin
    """
    composed = compose(roots(policies_folder(policies)), market, {}) if market else None
    entries = dictionary(composed)
    if as_json:
        put(json.dumps([as_data(entry) for entry in entries], ensure_ascii=False, indent=1))
    else:
        print_entries(entries)
