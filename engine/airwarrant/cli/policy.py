"""`airwarrant policy`: check policy files, show where a value comes from, print the dictionary."""

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from airwarrant.cli.console import put
from airwarrant.cli.lazy import Command, lazy_group
from airwarrant.cli.policy_beside import beside_data, print_beside
from airwarrant.cli.policy_tables import as_data, fault_data, print_check, print_entries, print_history, print_market
from airwarrant.errors import CallError, Fault
from airwarrant.policy.cases import FOLDER
from airwarrant.policy.compose import compose
from airwarrant.policy.history import history
from airwarrant.policy.show import check_sentence, rule_sentence
from airwarrant.policy.show_prices import SECTIONS, book_sentence
from airwarrant.policy.show_sizes import beside_sentence, task_sentence
from airwarrant.policy.vocabulary import dictionary
from airwarrant.policy.whole import check_folder
from airwarrant.shipped import policies_folder, roots

if TYPE_CHECKING:
    from airwarrant.sizing.beside import Beside

_COMMANDS = {
    "diff": Command("airwarrant.cli.policy_diff:diff"),
    # a value may be negative
    "set": Command("airwarrant.cli.policy_set:set_value", {"ignore_unknown_options": True}),
}
policy = typer.Typer(
    cls=lazy_group(_COMMANDS),
    help="Check policy files, show where a value comes from, print the dictionary.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)

Policies = Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON.")]
On = Annotated[datetime | None, typer.Option("--on", formats=["%Y-%m-%d"], help="A day of the job.")]


@policy.command()
def check(
    path: Annotated[Path | None, typer.Argument(help="A policy folder, or one file; else the whole folder.")] = None,
    policies: Policies = None,
    on: Annotated[
        datetime | None, typer.Option("--on", formats=["%Y-%m-%d"], help="Warn of reviews overdue on this day.")
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
    # Imported here, as in `show`: it takes with it all that evaluates a job.
    from airwarrant.cli.policy_check import check_file, folder_of, not_verified, rules_can_run, run_cases
    from airwarrant.cli.policy_check_tables import cases_data, print_cases, print_unverified, unverified_data

    if path is not None and not path.exists():
        raise CallError([Fault("no-file", f"there is no `{path}`", "a policy folder or file")])
    file = path if path is not None and path.is_file() else None
    folder = folder_of(path, policies)
    if file is not None:
        found = check_file(file, policies)
    else:
        found = check_folder(roots(policies_folder(path or policies)), rules_can_run, on=on.date() if on else None)
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
def show(
    market: Annotated[str, typer.Argument(help="Name of a market.")],
    name: Annotated[
        str, typer.Argument(help="A parameter, table, figure, check, rule, task, text, or price:TASK; else the market.")
    ] = "",
    policies: Policies = None,
    on: On = None,
    as_json: Json = False,
) -> None:
    """Show a value with every layer that set it, a rule, a size or a price as a sentence, a table with its physics beside it.

    Example: airwarrant policy show copper-basin return_diameter
    """
    composed = compose(roots(policies_folder(policies)), market, {"survey": on.date() if on else None})
    if not name:
        print_market(composed, as_json)
        return
    told = history(composed, name)
    name, sentence = told.name, ""
    if told.section == "rule":
        sentence = rule_sentence(composed, composed.rules[name])
    elif told.section == "check":
        sentence = check_sentence(composed, composed.checks[name])
    elif told.section == "task":
        sized, priced = task_sentence(composed, composed.tasks[name]), book_sentence(composed, "price", name)
        sentence = " ".join(filter(None, (sized, priced)))
    elif told.section in SECTIONS:
        sentence = book_sentence(composed, told.section, name)
    elif told.section == "table":
        sentence = beside_sentence(composed, composed.tables[name].beside)
    rows: tuple[Beside, ...] = ()
    if told.section == "table" and composed.tables[name].beside:
        from airwarrant.sizing.beside import beside

        rows = beside(composed, composed.tables[name])
    if as_json:
        data = {**as_data(told), "sentence": sentence, "beside": [beside_data(row) for row in rows]}
        put(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        print_history(told, sentence)
        print_beside(rows)


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
