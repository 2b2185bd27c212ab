"""`airwarrant policy new`: start a market from the nearest one."""

import json
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated

import typer
from rich.text import Text

from airwarrant.cli.console import out, put
from airwarrant.cli.policy_check import rules_can_run
from airwarrant.cli.policy_tables import fault_data
from airwarrant.counted import counted
from airwarrant.desks.policy_new import start
from airwarrant.desks.policy_save import save
from airwarrant.errors import PolicyError
from airwarrant.policy.compose import compose
from airwarrant.policy.unfilled import unfilled
from airwarrant.policy.whole import check_folder
from airwarrant.shipped import own_folder, roots


def new(
    market: Annotated[str, typer.Argument(help="Name of the new market: small letters, digits, hyphens.")],
    like: Annotated[str, typer.Option("--from", metavar="MARKET", help="The market nearest to it in climate and law.")],
    title: Annotated[str, typer.Option(help="Its title; else made of its name.")] = "",
    policies: Annotated[
        Path | None, typer.Option(help="Your policy folder; else ./policies, made when needed.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Start a market: copy the nearest one's choices, leave every local code fact to be filled in and cited.

    Example: airwarrant policy new umber-flat --from copper-basin --title "Umber Flat, hot-dry"
    """
    folder = own_folder(policies)
    started = start(roots(folder), market, like, title)
    with TemporaryDirectory(prefix="airwarrant-") as there:
        save(Path(there), started.files)
        taken = (Path(there), *roots(folder))
        faults = check_folder(taken, rules_can_run, only=lambda one, _: one == market).faults
        if faults:
            raise PolicyError(faults)
        open_ = unfilled(compose(taken, market, {}))
    save(folder, started.files)
    if as_json:
        data = {
            "market": market,
            "title": started.title,
            "from": like,
            "layers": started.layers,
            "files": list(started.files),
            "to_fill_in": [fault_data(fault) for fault in open_],
        }
        put(json.dumps(data, ensure_ascii=False, indent=1))
        return
    console = out()
    console.print(Text(f"{started.title}, started from {started.like.title}. Written below {folder}:", style="bold"))
    for file in started.files:
        console.print(Text(f"  {file}"), soft_wrap=True)
    console.print(Text(f"To fill in, {counted(len(open_), 'local fact')}:", style="bold"))
    for fault in open_:
        console.print(Text(f"  {fault.place}: {fault.found}"), soft_wrap=True)
    console.print(Text("Until then live jobs are refused; `airwarrant run JOB --draft` shows a draft."), soft_wrap=True)
