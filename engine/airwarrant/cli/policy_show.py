"""`airwarrant policy show`: a value, rule, check, task or price of a market, where it comes from and what depends on it."""

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from airwarrant.cli.console import put
from airwarrant.cli.days import day_option
from airwarrant.cli.policy_tables import as_data, print_history, print_market
from airwarrant.policy.compose import compose
from airwarrant.policy.history import History, history
from airwarrant.policy.model import Policy
from airwarrant.policy.show import check_sentence, rule_sentence
from airwarrant.policy.show_prices import SECTIONS, book_sentence
from airwarrant.policy.show_sizes import beside_sentence, task_sentence
from airwarrant.policy.show_values import value_sentence
from airwarrant.shipped import policies_folder, roots, shipped

if TYPE_CHECKING:
    from airwarrant.sizing.beside import Beside


def show(
    market: Annotated[str, typer.Argument(help="Name of a market.")],
    name: Annotated[
        str, typer.Argument(help="A parameter, table, figure, check, rule, task, text, or price:TASK; else the market.")
    ] = "",
    policies: Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")] = None,
    on: Annotated[datetime | None, day_option("--on", "A day of the job.")] = None,
    jobs: Annotated[
        bool,
        typer.Option("--jobs", help="Evaluate the shipped jobs now to say which depend on it; takes some seconds."),
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Show a value with its source, every layer that set it, who reads it and which shipped jobs depend on it; a rule, a size or
    a price as a sentence; a table with its physics beside it.

    Example: airwarrant policy show copper-basin return_diameter
    """
    folder = policies_folder(policies)
    day = on.date() if on else None
    composed = compose(roots(folder), market, {"survey": day})
    if not name:
        print_market(composed, as_json, day)
        return
    told = history(composed, name)
    sentence = _sentence(composed, told)
    depends = _depends(folder, market, told, jobs)
    rows = _beside(composed, told)
    if as_json:
        from airwarrant.cli.policy_beside import beside_data

        depends_data = None if depends is None else list(depends)
        data = {
            **as_data(told),
            "on": as_data(day),
            "sentence": sentence,
            "jobs": depends_data,
            "beside": [beside_data(row) for row in rows],
        }
        put(json.dumps(data, ensure_ascii=False, indent=1))
        return
    print_history(composed, told, sentence, depends, day)
    if rows:
        from airwarrant.cli.policy_beside import print_beside

        print_beside(rows)


def _sentence(composed: Policy, told: History) -> str:
    name = told.name
    if told.section == "rule":
        return rule_sentence(composed, composed.rules[name])
    if told.section == "check":
        return check_sentence(composed, composed.checks[name])
    if told.section == "task":
        parts = task_sentence(composed, composed.tasks[name]), book_sentence(composed, "price", name)
    elif told.section in SECTIONS:
        return book_sentence(composed, told.section, name)
    else:
        beside = beside_sentence(composed, composed.tables[name].beside) if told.section == "table" else ""
        parts = value_sentence(composed, told.section, name), beside
    return " ".join(filter(None, parts))


def _depends(folder: Path, market: str, told: History, now: bool) -> tuple[str, ...] | None:
    """What is on file speaks of the shipped policies only."""
    from airwarrant.desks.depends import jobs_now, jobs_on_file

    if told.section == "said":
        return None
    if now:
        return jobs_now(roots(folder), market, told)
    return jobs_on_file(market, told) if folder.resolve() == shipped("policies").resolve() else None


def _beside(composed: Policy, told: History) -> "tuple[Beside, ...]":
    """Imported here: a value has no physics beside it."""
    if told.section != "table" or not composed.tables[told.name].beside:
        return ()
    from airwarrant.sizing.beside import beside

    return beside(composed, composed.tables[told.name])
