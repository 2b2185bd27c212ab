"""Tables of the command `airwarrant policy`."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any

from rich.table import Table
from rich.text import Text

from airwarrant.cli.console import out, put
from airwarrant.counted import counted
from airwarrant.errors import Fault
from airwarrant.policy.history import History, Setting
from airwarrant.policy.model import Policy
from airwarrant.policy.vocabulary import Entry
from airwarrant.policy.whole import Checked
from airwarrant.source.place import Place

#: Columns a history needs as a table.
_WIDE = 110


def print_check(found: Checked) -> None:
    """Print every fault and warning, then the counts; one line each in a pipe."""
    console = out()
    for fault in found.faults:
        console.print(Text(str(fault)), soft_wrap=True)
    for fault in found.warnings:
        console.print(Text(f"warning: {fault}"), soft_wrap=True)
    counts = (
        counted(len(found.markets), "market"),
        counted(len(found.files), "file"),
        counted(len(found.faults), "fault"),
    )
    style = "red" if found.faults else "green"
    extra = f", {counted(len(found.warnings), 'warning')}" if found.warnings else ""
    console.print(Text(", ".join(counts) + extra, style=style))


def print_market(policy: Policy, as_json: bool, on: date | None = None) -> None:
    """Print a market: its layers, and how much each section holds."""
    sections = ("parameters", "tables", "figures", "checks", "rules", "tasks", "said")
    counts = {name: len(getattr(policy, name)) for name in sections}
    market = policy.market
    if as_json:
        data = {
            **as_data(market),
            "on": as_data(on),
            "in_force": [list(one) for one in policy.layers],
            "digest": policy.digest,
            **counts,
        }
        put(json.dumps(data, ensure_ascii=False, indent=1))
        return
    console = out()
    console.print(Text(f"{market.name}: {market.title} ({market.place})", style="bold"))
    _day(policy, on)
    console.print(
        Text(f"jurisdiction {market.jurisdiction or 'not named'}, editions {', '.join(market.editions) or 'none'}")
    )
    for layer, effective in policy.layers:
        governs = market.dates_by_layer[layer.split("/")[0]]
        console.print(Text(f"  {layer} from {effective} on, by the {governs} date"))
    console.print(Text(", ".join(f"{count} {name}" for name, count in counts.items())))
    console.print(Text(f"digest {policy.digest}", style="dim"), soft_wrap=True)


def print_history(
    policy: Policy, told: History, sentence: str, jobs: Sequence[str] | None = None, on: date | None = None
) -> None:
    """Print a block's history: what is in force, what it replaced, who reads it, and which shipped jobs depend on it."""
    console = out()
    console.print(Text(f"{told.section} {told.name}", style="bold"))
    _day(policy, on)
    if sentence:
        console.print(Text(sentence), soft_wrap=not console.is_terminal)
    if console.is_terminal and console.width >= _WIDE:  # a narrow table would cut the places
        table = Table("key", "value", "layer", "from", "place", box=None)
        for setting in told.settings:
            style = "" if setting.in_force else "dim strike"
            table.add_row(*(Text(cell, style=style) for cell in _cells(setting)))
        console.print(table)
    else:
        for setting in told.settings:
            state = "" if setting.in_force else "  overridden"
            key, value, layer, effective, place = _cells(setting)
            console.print(Text(f"{place}  {layer} {effective}  {key} = {value}{state}"), soft_wrap=True)
    for what in ("figures", "checks", "rules", "tasks", "prices"):
        readers: Sequence[str] = getattr(told, what)
        if readers:
            console.print(Text(f"read by {what}: {', '.join(readers)}"), soft_wrap=True)
    if told.program:
        console.print(Text(f"read by the program, in {told.program}"))
    if jobs is not None:
        console.print(Text(f"shipped jobs that depend on it: {', '.join(jobs) or 'none'}"))
    elif told.section != "said":
        console.print(
            Text("shipped jobs that depend on it: not known for this policy; --jobs evaluates them"), style="dim"
        )


def _day(policy: Policy, on: date | None) -> None:
    """Say which day is told of: without one a folder of the future is in force too."""
    latest = max((effective for _, effective in policy.layers), default="")
    said = f"on {on}" if on is not None else f"with every dated folder, the latest {latest}; --on DAY for one day"
    out().print(Text(said, style="dim"), soft_wrap=True)


def print_entries(entries: Sequence[Entry]) -> None:
    """Print the dictionary."""
    console = out()
    if not console.is_terminal:
        for entry in entries:
            put("\t".join((entry.section, entry.name, entry.title, entry.allowed, entry.where)))
        return
    table = Table(box=None)
    for title in ("what", "name", "meaning", "words or unit", "where"):
        table.add_column(title, overflow="fold")
    for entry in entries:
        style = "bold" if entry.section == "kind" else ""
        cells = (entry.section, entry.name, entry.title, entry.allowed, entry.where)
        table.add_row(*(Text(cell, style=style) for cell in cells))
    console.print(table)


def fault_data(fault: Fault) -> dict[str, Any]:
    """Return a fault as JSON has it."""
    return {
        "code": fault.code,
        **(as_data(fault.place) if fault.place else {}),
        "field": fault.field,
        "found": fault.found,
        "allowed": fault.allowed,
        "advice": fault.advice,
    }


def as_data(value: Any) -> Any:
    """Return a dataclass as JSON has it."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: as_data(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): as_data(held) for key, held in value.items()}
    if isinstance(value, list | tuple):
        return [as_data(held) for held in value]
    return value.isoformat() if isinstance(value, date) else value


def _cells(setting: Setting) -> tuple[str, str, str, str, str]:
    value = _text(setting.value)
    if setting.key in ("size", "beside"):  # blocks in blocks: the sentence says those in force
        value = "said above" if setting.in_force else counted(len(setting.value), "block")
    return (setting.key, value, setting.layer, setting.effective, _place(setting.place))


def _place(place: Place) -> str:
    return str(place)


def _text(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case dict():
            return "{ " + ", ".join(f"{key} = {_text(held)}" for key, held in value.items()) + " }"
        case list():
            return "[" + ", ".join(map(_text, value)) + "]"
        case float():
            return f"{value:g}"
        case _:
            return str(value)
