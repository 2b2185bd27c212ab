"""`airwarrant survey`: a blank job record that asks for what a market reads."""

import json
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from airwarrant.cli.console import put
from airwarrant.cli.days import day_option
from airwarrant.cli.policy_tables import as_data
from airwarrant.desks.survey import blank_record
from airwarrant.desks.survey import survey as parts_of
from airwarrant.errors import CallError, Fault
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names
from airwarrant.shipped import policies_folder, roots


def survey(
    market: Annotated[str, typer.Option(help="Market whose rules, checks, sizes and prices the survey serves.")] = "",
    policies: Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")] = None,
    on: Annotated[datetime | None, day_option("--on", "Day of the job; else the newest policy.")] = None,
    units: Annotated[str, typer.Option(help="Units of the record: ip or si.")] = "ip",
    as_json: Annotated[bool, typer.Option("--json", help="Print the keys as JSON instead of a record.")] = False,
) -> None:
    """Print a blank, commented job record: only what this market reads, in the order of a visit.

    Example: airwarrant survey --market copper-basin > job-1043.toml
    """
    if units not in ("ip", "si"):
        raise CallError([Fault("units", f"--units {units}", "ip or si")])
    folders = roots(policies_folder(policies))
    if not market:
        known = market_names(folders[0])
        if len(known) != 1:
            raise CallError([Fault("no-market", "no market is named", ", ".join(known), advice="Give --market.")])
        market = known[0]
    policy = compose(folders, market, {"survey": on.date() if on else None})
    if as_json:
        put(json.dumps(as_data(parts_of(policy, units)), ensure_ascii=False, indent=1))
    else:
        put(blank_record(policy, units))
