"""`airwarrant policy`: check policy files, show where a value comes from, print the dictionary."""

import json
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from airwarrant.cli.console import put
from airwarrant.cli.policy_beside import beside_data, print_beside
from airwarrant.cli.policy_tables import as_data, fault_data, print_check, print_entries, print_history, print_market
from airwarrant.errors import CallError, Fault, PolicyError
from airwarrant.policy.compose import compose
from airwarrant.policy.history import history
from airwarrant.policy.model import Policy
from airwarrant.policy.show import check_sentence, rule_sentence
from airwarrant.policy.show_prices import SECTIONS, book_sentence
from airwarrant.policy.show_sizes import beside_sentence, task_sentence
from airwarrant.policy.steering import check_steering
from airwarrant.policy.vocabulary import dictionary
from airwarrant.policy.whole import Checked, check_folder, file_faults, markets_naming
from airwarrant.rules.expand import expand
from airwarrant.rules.strata import strata
from airwarrant.shipped import policies_folder, roots
from airwarrant.sizing.beside import beside

policy = typer.Typer(
    help="Check policy files, show where a value comes from, print the dictionary.", no_args_is_help=True
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
    as_json: Json = False,
) -> None:
    """Report every fault of policy files, each with its place; exit 1 if there are any.

    Example: airwarrant policy check policies
    """
    if path is not None and not path.exists():
        raise CallError([Fault("no-file", f"there is no `{path}`", "a policy folder or file")])
    day = on.date() if on else None
    if path is not None and path.is_file():
        found = _check_file(path, policies)
    else:
        found = check_folder(roots(policies_folder(path or policies)), _rules_can_run, on=day)
    if as_json:
        data = {
            "markets": found.markets,
            "files": found.files,
            "faults": [fault_data(f) for f in found.faults],
            "warnings": [fault_data(f) for f in found.warnings],
        }
        put(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        print_check(found)
    if found.faults:
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
    rows = beside(composed, composed.tables[name]) if told.section == "table" else ()
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


def _rules_can_run(composed: Policy) -> None:
    """Refuse rules in a circle, rules of too many combinations, and a policy that lacks what every evaluation reads."""
    strata(composed.rules)
    for name, rule in composed.rules.items():
        expand(name, rule)
    check_steering(composed)


def _check_file(path: Path, policies: Path | None) -> Checked:
    """One file alone, and, if it stands in a policy folder, in every market that takes it."""
    folder = policies_folder(policies) if policies else _folder_of(path)
    inside = folder is not None and path.resolve().is_relative_to(folder.resolve())
    if folder is None or not inside:
        faults = file_faults(path.read_bytes(), path.name)
        return Checked((), (path.name,), PolicyError(faults).faults, ())
    parts = path.resolve().relative_to(folder.resolve()).parts
    if parts[0] == "markets":
        return check_folder(roots(folder), _rules_can_run, only=lambda market, layer: market == path.stem)
    own = parts[0] if parts[0] == "trade" else "/".join(parts[:2])
    naming = markets_naming(roots(folder), own)
    return check_folder(roots(folder), _rules_can_run, only=lambda market, layer: layer == own or market in naming)


def _folder_of(path: Path) -> Path | None:
    """The policy folder a file stands in: the nearest one above it that holds `markets` or `trade`."""
    return next((up for up in path.resolve().parents if (up / "markets").is_dir() or (up / "trade").is_dir()), None)
