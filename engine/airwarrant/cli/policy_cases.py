"""`airwarrant policy cases`: write a case at, just within and just beyond every limit."""

import json
from pathlib import Path
from typing import Annotated

import typer
from rich.progress import Progress
from rich.text import Text

from airwarrant.cli.console import err, out, put
from airwarrant.counted import counted
from airwarrant.desks.limit_cases import LimitCases, limit_cases
from airwarrant.desks.limit_files import Written, write_limits
from airwarrant.errors import CallError, Fault, nearest
from airwarrant.policy.files import layer_names, market_names, read_market
from airwarrant.shipped import own_folder, policies_folder, roots

_HOW = {
    "new": "new",
    "changed": "written again",
    "same": "as it was",
    "left": "left as it is: it was edited by hand (--yes replaces it)",
    "replaced": "replaced, with what was edited by hand",
    "empty": "left as it is: no limit in force is for it any more",
}


def cases(
    market: Annotated[str, typer.Argument(help="Only the limits of this market's layers; else of every market.")] = "",
    folder: Annotated[
        Path | None, typer.Option("--out", help="Write below this folder instead, to look at them first.")
    ] = None,
    policies: Annotated[
        Path | None, typer.Option(help="Your policy folder; else ./policies, made when needed.")
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Replace files that were edited by hand, too.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Write cases at, just within and just beyond every limit in force; exit 1 if a file edited by hand was left.

    They stand in cases/limits; `airwarrant policy check --cases` runs them with your own.

    Example: airwarrant policy cases copper-basin --out look-first
    """
    own = policies_folder(policies) if folder is not None else own_folder(policies)
    known = market_names(own)
    if not known:
        advice = "Start one with `airwarrant policy new`."
        raise CallError(
            [Fault("no-policies", f"there is no market in `{own}`", "a folder that holds markets/", advice=advice)]
        )
    if market and market not in known:
        found = f"there is no market `{market}` in {own}"
        raise CallError([Fault("unknown-market", found, ", ".join(known), advice=nearest(market, known))])
    layers = read_market(roots(own), market)[0].layers if market else layer_names(roots(own))
    found_cases = _found(own)
    told = write_limits(folder or own, found_cases, layers, replace=yes)
    if as_json:
        put(json.dumps(_data(told, found_cases), ensure_ascii=False, indent=1))
    else:
        _print(folder or own, told, found_cases)
    if any(one.how == "left" for one in told):
        raise typer.Exit(1)


def _found(own: Path) -> LimitCases:
    console = err()
    with Progress(console=console, transient=True, disable=not console.is_terminal) as progress:
        bar = progress.add_task("limits", total=None)
        return limit_cases(roots(own), done=lambda at, of: progress.update(bar, completed=at, total=of))


def _data(told: tuple[Written, ...], found: LimitCases) -> dict[str, object]:
    return {
        "files": [{"file": one.file, "cases": one.cases, "how": one.how, "otherwise": one.otherwise} for one in told],
        "no_case": [
            {"check": one.check, "market": one.market, "place": str(one.place), "why": one.why}
            for one in found.unreached
        ],
    }


def _print(below: Path, told: tuple[Written, ...], found: LimitCases) -> None:
    console = out()
    console.print(Text(f"Cases at every limit, below {below}:", style="bold"))
    for one in told:
        said = counted(one.otherwise, "case says something else", "cases say something else")
        more = f"; {said}" if one.how == "changed" and one.otherwise else ""
        console.print(Text(f"  {one.file}: {counted(one.cases, 'case')}, {_HOW[one.how]}{more}"), soft_wrap=True)
    if found.unreached:
        console.print(Text(f"Limits without a case, {len(found.unreached)}:", style="bold"))
    for gap in found.unreached:
        console.print(Text(f"  {gap.check}, {gap.place}: {gap.why}"), soft_wrap=True)
