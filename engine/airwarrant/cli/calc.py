"""`airwarrant calc`: run one calculation by name, or list them all."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer
from rich.table import Table
from rich.text import Text

from airwarrant.cli.console import err, out, put
from airwarrant.errors import CallError, Fault, unread
from airwarrant.source.document import read_toml

if TYPE_CHECKING:
    from airwarrant.calculations.calculation import Key
    from airwarrant.calculations.measures import System
    from airwarrant.calculations.registry import Calculated


def calc(
    name: Annotated[str, typer.Argument(help="A calculation; `--list` names them.")] = "",
    given: Annotated[
        list[str] | None, typer.Argument(metavar="KEY=VALUE…", help="Inputs, and @FILE.toml for whole files of them.")
    ] = None,
    units: Annotated[Literal["ip", "si"], typer.Option(help="Units of the answer.")] = "ip",
    listing: Annotated[bool, typer.Option("--list", help="List calculations; with a name, explain that one.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Run one calculation from the trade's formulas, each with its source and valid range.

    Example: airwarrant calc duct-friction flow_cfm=400 diameter_in=9 material=flex compression_pct=15
    """
    # Imported here: the formulas would cost every other command its start.
    from airwarrant.calculations.registry import calculate

    if listing:
        _list(name, units, as_json)
        return
    if not name:
        advice = "`airwarrant calc --list` names them."
        raise CallError([Fault("missing-argument", "no calculation was named", "a name", advice=advice)])
    inputs, system = _inputs(given or [], units)
    done = calculate(name, inputs, system)
    if as_json:
        put(json.dumps(done.as_json(), ensure_ascii=False, indent=1))
    else:
        _print(done)


def _inputs(given: list[str], units: "System") -> tuple[dict[str, object], "System"]:
    inputs: dict[str, object] = {}
    system = units
    faults: list[Fault] = []
    for part in given:
        if part.startswith("@"):
            found = _file(Path(part[1:]))
            said = found.pop("units", units)
            if said not in ("ip", "si"):
                faults.append(Fault("wrong-value", f"`{said}`", "ip, si", field="units"))
                continue
            system = "si" if said == "si" else "ip"
            more: dict[str, object] = found
        else:
            key, equals, value = part.partition("=")
            if not equals:
                faults.append(Fault("wrong-argument", f"`{part}`", "key=value, or @file.toml"))
                continue
            more = {key: value}
        faults += [Fault("duplicate-key", "is given twice", "once", field=key) for key in more if key in inputs]
        inputs |= more
    if faults:
        raise CallError(faults)
    return inputs, system


def _file(path: Path) -> dict[str, Any]:
    try:
        text = path.read_bytes()
    except OSError as error:
        raise CallError([Fault("no-file", f"`{path}` cannot be read: {unread(error)}", "a TOML file")]) from error
    return dict(read_toml(text, path.name, error=CallError).data)


def _print(done: "Calculated") -> None:
    table = Table.grid(padding=(0, 2))
    for key, value in done.outputs.items():
        if isinstance(value, list):
            for row in value:
                table.add_row(key, _several(row))
        elif isinstance(value, dict):
            for name, one in value.items():
                table.add_row(key, f"{name}  {_several(one) if isinstance(one, dict) else _short(one)}")
        else:
            table.add_row(key, _short(value))
    out().print(table)
    out().print(Text(done.source, style="dim"))
    for warning in done.left_range:
        err().print(Text(f"outside its valid range: {warning}", style="yellow"))
    for caution in done.cautions:
        err().print(Text(f"note: {caution}", style="yellow"))


def _several(values: dict[str, object]) -> str:
    return "  ".join(f"{name} {_short(value)}" for name, value in values.items())


def _short(value: object) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _list(name: str, system: "System", as_json: bool) -> None:
    from airwarrant.calculations.registry import CALCULATIONS, find

    chosen = [find(name)] if name else list(CALCULATIONS.values())
    if as_json:
        rows = [
            {
                "calculation": one.name,
                "title": one.title,
                "inputs": [_wording(key, system) for key in one.inputs],
                "outputs": [key.name(system) for key in one.outputs],
                "source": one.source,
                "adds_pct": one.adds_pct,
            }
            for one in chosen
        ]
        put(json.dumps(rows, ensure_ascii=False, indent=1))
        return
    for one in chosen:
        console = out()
        console.print(Text(one.name, style="bold"))
        console.print(Text(f"  {one.title}"))
        console.print(Text(f"  in   {', '.join(_wording(key, system) for key in one.inputs)}"))
        console.print(Text(f"  out  {', '.join(key.name(system) for key in one.outputs)}"))
        if name:
            lines = (one.function.__doc__ or "").rstrip().split("\n")[1:]
            console.print(Text("\n".join(line.removeprefix("  ") for line in lines)))
            console.print(Text(f"  source  {one.source}"))


def _wording(key: "Key", system: "System") -> str:
    text = key.name(system)
    if key.words and key.id != "unit":
        text += f" ({'|'.join(key.words)})"
    if key.optional:
        return f"[{text}]"
    if isinstance(key.default, float):
        scales = key.scales
        return f"{text}={scales.of(system).from_si(scales.ip.to_si(key.default)):.6g}"
    return text if key.default is None else f"{text}={key.default}"
