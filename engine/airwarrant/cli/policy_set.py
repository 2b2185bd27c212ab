"""`airwarrant policy set`: change one value for one market from one day, with open eyes."""

import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.text import Text

from airwarrant.cli.console import err, out, put
from airwarrant.cli.days import day_option
from airwarrant.cli.policy_check import rules_can_run
from airwarrant.cli.policy_set_kept import kept_data, on_kept_jobs, show_kept
from airwarrant.desks.policy_effects import Effect, effects, scenarios_of
from airwarrant.desks.policy_save import save
from airwarrant.desks.policy_set import Planned, Standing, Wish, overlay, plan
from airwarrant.errors import CallError, Fault
from airwarrant.result.why_prices import money_shown
from airwarrant.shipped import own_folder, roots

if TYPE_CHECKING:
    from airwarrant.replay.replay import Told

_ANSWERS = {"yes": "the offer may go out", "held": "the offer waits", "no": "no offer"}


def set_value(
    name: Annotated[
        str, typer.Argument(help="A parameter, a table, or a number of the price book, such as crew:installers.")
    ],
    value: Annotated[str, typer.Argument(help="The value, in its own unit or with one: 0.28, '12 Pa'.")],
    market: Annotated[str, typer.Option(help="The market it is for; no other market changes.")],
    from_day: Annotated[datetime, day_option("--from", "The day from which it holds.")],
    why: Annotated[str, typer.Option(help="The reason; it is kept beside the value.")],
    row: Annotated[str, typer.Option(help="Of a table: the key of the row.")] = "",
    policies: Annotated[Path | None, typer.Option(help="Your policy folder; else ./policies.")] = None,
    archive: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Also show what changes on the kept jobs of this archive; else ./airwarrant.sqlite."
        ),
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Write without asking.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON; written only with --yes.")] = False,
) -> None:
    """Set one value for a market from a day: check it, show what it changes on the shipped scenarios, ask, write; exit 1 on no.

    Example: airwarrant policy set return_budget 0.28 --market copper-basin --from 2027-01-01 --why "Quieter returns"
    """
    folder = own_folder(policies)
    taken = roots(folder)
    planned = plan(taken, Wish(market, name, value, from_day.date(), why, row), rules_can_run)
    moved, kept = _effects(taken, planned, archive) if planned.files else ((), None)
    written = bool(planned.files) and yes
    if written:  # before a word is printed: a reader who leaves early must not keep it from being written
        save(folder, planned.files)
    if as_json:
        data = _data(planned, moved, written) | ({"kept": kept_data(kept)} if kept is not None else {})
        put(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        _show(planned, moved)
        if kept is not None:
            show_kept(kept)
        elif archive is not None and planned.files:
            out().print(
                Text(f"{archive} holds no kept job of {planned.market.title}: nothing to compare there."),
                soft_wrap=True,
            )
    if planned.files and not written:
        _ask(as_json)
        save(folder, planned.files)
    if planned.files and not as_json:
        out().print(Text(f"Written: {', '.join(planned.files)}"), soft_wrap=True)


def _ask(as_json: bool) -> None:
    if as_json or not sys.stdin.isatty():
        found = "nothing was written: there is nobody to ask"
        raise CallError([Fault("not-confirmed", found, advice="Read what changes, then run it again with --yes.")])
    if not typer.confirm("Write it?"):
        out().print("Nothing was written.")
        raise typer.Exit(1)


def _effects(taken: Sequence[Path], planned: Planned, archive: Path | None) -> "tuple[tuple[Effect, ...], Told | None]":
    """What changes on the shipped scenarios, and on kept jobs where there is an archive."""
    from rich.progress import Progress  # only here: it would slow every start

    records = scenarios_of(planned.market.name)
    console = err()
    with overlay(taken, planned.market, planned.new.layer, planned.files) as there:
        with Progress(console=console, transient=True, disable=not console.is_terminal) as progress:
            bar = progress.add_task("scenarios", total=len(records))
            moved = effects(
                taken,
                there,
                planned.market.name,
                planned.wish.from_day,
                records,
                done=lambda at, of: progress.update(bar, completed=at, total=of),
            )
        return moved, on_kept_jobs(archive, taken, there, planned.market.name, planned.wish.from_day)


def _show(planned: Planned, moved: Sequence[Effect]) -> None:
    console = out()
    old, new = planned.old, planned.new
    what = f"{planned.title} ({planned.name}{f', {planned.row}' if planned.row else ''})"
    if not planned.files:
        text = f"{planned.market.title}: {what} is {_value(planned, old)} already, set by {old.layer} ({old.place})."
        console.print(Text(f"{text} Nothing is written."), soft_wrap=True)
        return
    console.print(
        Text(
            f"{planned.market.title}, {planned.governs} from {planned.wish.from_day}: {what} is {_value(planned, new)}, "
            f"set by {new.layer}. It was {_value(planned, old)}, set by {old.layer} ({old.place})."
        ),
        soft_wrap=True,
    )
    if planned.said:
        console.print(Text(f"Units: {planned.said}"))
    console.print(Text(f"Because: {planned.wish.why.strip()}"), soft_wrap=True)
    if planned.new_layer:
        text = f"New layer {new.layer}, the last of markets/{planned.market.name}.toml: no other market changes."
        console.print(Text(text), soft_wrap=True)
    for later in planned.later:
        text = f"Only until {later.effective}: then {later.layer} makes it {_value(planned, later)} ({later.place})."
        console.print(Text(text, style="yellow"), soft_wrap=True)
    for fault in planned.odd:
        console.print(Text(str(fault), style="yellow"), soft_wrap=True)
    if moved:
        console.print(Text("What changes on the shipped scenarios", style="bold"))
    for effect in moved:
        _show_effect(effect)


def _show_effect(effect: Effect) -> None:
    console = out()
    as_if = f", as if of {effect.on}" if effect.on else ""
    amount = _money(effect.amount_before)
    if effect.amount_before != effect.amount_after:
        amount = f"{amount} → {_money(effect.amount_after)}"
    what = f"no line, {amount}" if effect.same else amount
    console.print(Text(f"job {effect.job}{as_if}: {what}"), soft_wrap=True)
    for line in effect.lines:
        if not line.before:
            console.print(Text(f"  added    {line.line}: {line.after}", style="green"), soft_wrap=True)
        elif not line.after:
            console.print(Text(f"  dropped  {line.line}: {line.before}", style="red"), soft_wrap=True)
        else:
            console.print(Text(f"  changed  {line.line}: {line.before} → {line.after}"), soft_wrap=True)
    if effect.answer_before != effect.answer_after:
        console.print(Text(f"  {_ANSWERS[effect.answer_before]} → {_ANSWERS[effect.answer_after]}", style="yellow"))
    for verdict in effect.verdicts:
        console.print(Text(f"  verdict  {verdict}", style="dim"), soft_wrap=True)


def _money(amount: str) -> str:
    return money_shown(amount) if amount else "no amount"


def _value(planned: Planned, standing: Standing) -> str:
    value = standing.value if isinstance(standing.value, str) else f"{standing.value:.10g}"
    return f"{value} {planned.unit}".strip()


def _data(planned: Planned, moved: Sequence[Effect], written: bool) -> dict[str, Any]:
    return {
        "market": planned.market.name,
        "section": planned.section,
        "name": planned.name,
        "row": planned.row,
        "title": planned.title,
        "unit": planned.unit,
        "from": planned.wish.from_day.isoformat(),
        "governed_by": planned.governs,
        "why": planned.wish.why.strip(),
        "converted": planned.said,
        "old": _standing(planned.old),
        "new": _standing(planned.new),
        "later": [_standing(one) for one in planned.later],
        "new_layer": planned.new_layer,
        "odd": [str(fault) for fault in planned.odd],
        "files": list(planned.files),
        "written": written,
        "scenarios": [{**asdict(effect), "same": effect.same} for effect in moved],
    }


def _standing(standing: Standing) -> dict[str, Any]:
    place = {"file": standing.place.file, "line": standing.place.line, "column": standing.place.column}
    return {"value": standing.value, "layer": standing.layer, "effective": standing.effective, **place}
