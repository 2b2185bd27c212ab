"""What is predicted, as tables: fan settings, what reaches the rooms and costs, each room, the scope step by step and a line less."""

from collections.abc import Iterable, Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from airwarrant.cli.figures import WIDE, shown, span, table_of

_Reading = Mapping[str, Any]
_OF_HOUSE = (
    ("delivered_sensible", "sensible cooling at the registers"),
    ("delivered_capacity", "total cooling at the registers"),
    ("power", "blower power"),
    ("leakage_25", "duct leakage at 25 Pa"),
    ("temperature_rise", "heating temperature rise"),
    ("system_efficiency", "efficiency of ducts and equipment, season"),
)


def print_forecast(console: Console, result: Mapping[str, Any], units: str) -> None:
    """Print the predictions of a result; nothing here is computed."""
    forecast = _in_currency(result["predictions"], result["market"]["currency"])
    if not forecast["options"]:
        console.print(Text(f"\nPrediction: {forecast['method']}", style="dim"))
        return
    _settings(console, forecast, units)
    _house(console, forecast, units)
    _rooms(console, forecast, units)
    _steps(console, forecast, units)
    _alternatives(console, forecast, units)
    _grounds(console, forecast, units)


def _in_currency(part: Any, currency: str) -> Any:
    """The forecast with the market's own currency for money."""
    if isinstance(part, Mapping):
        return {
            key: currency if key == "unit" and value == "money" else _in_currency(value, currency)
            for key, value in part.items()
        }
    return [_in_currency(one, currency) for one in part] if isinstance(part, list) else part


def _settings(console: Console, forecast: Mapping[str, Any], units: str) -> None:
    table = table_of("Predicted, new unit")
    wide = console.width >= WIDE
    names = ("external static", "blower", "registers", "misses", "close, with the chance to meet it")
    for name in (("fan setting", "scope") if wide else ("fan setting and scope",)) + names:
        numbers = 11 if name in names[:3] else None  # a range is never broken
        table.add_column(name, overflow="fold", no_wrap=not wide and name == "misses", min_width=numbers)
    between = ", " if wide else ",\n"
    chosen = forecast["scope"]["setting"]
    for scope, entries in (("like for like", forecast["like_for_like"]), ("this scope", forecast["options"])):
        for option in entries:
            house = option["readings"]["house"]
            setting = option["setting"] + (" (chosen)" if scope == "this scope" and option["setting"] == chosen else "")
            close = (f"{_check(i)} {option['chances'].get(i, 0):.2f}" for i in option["close"])
            table.add_row(
                *((setting, scope) if wide else (f"{setting}, {scope}",)),
                *(span(house[name], units) for name in ("external_static", "airflow", "register_flow")),
                between.join(map(_check, option["misses"])) or "none",
                between.join(close) or "none",
            )
    console.print()
    console.print(table)


def _house(console: Console, forecast: Mapping[str, Any], units: str) -> None:
    """The chosen scope beside like for like at the same setting."""
    scope = forecast["scope"]
    base = next((o for o in forecast["like_for_like"] if o["setting"] == scope["setting"]), None)
    before, after = (o["readings"]["house"] if o else {} for o in (base, scope))
    rows = [(title, before.get(name), after[name]) for name, title in _OF_HOUSE if name in after]
    table = table_of("What reaches the rooms, and what it takes")
    for name in ("", "like for like", "this scope"):
        table.add_column(name, overflow="fold")
    for title, old, new in rows:
        table.add_row(title, span(old, units) if old else "", span(new, units))
    for name, title in (("season_energy", "cooling energy, season"), ("season_cost", "cooling cost, season")):
        if f"{name}_low" in after and f"{name}_high" in after:
            table.add_row(title, _season(before, name, units), _season(after, name, units))
    console.print()
    console.print(table)


def _season(house: Mapping[str, _Reading], name: str, units: str) -> str:
    """From the fewest hours to the most: what a season asks for is less certain than any reading."""
    if f"{name}_low" not in house:
        return ""
    low, high = house[f"{name}_low"], house[f"{name}_high"]
    return f"{shown(low['value'], low['unit'], units).split(' ', 1)[0]}–{shown(high['value'], high['unit'], units)}"


def _rooms(console: Console, forecast: Mapping[str, Any], units: str) -> None:
    readings, targets = forecast["scope"]["readings"], forecast["targets"]
    found = forecast["network_as_found"] or {}
    rooms = [key for key, one in readings.items() if key != "house" and "flow" in one]
    if not rooms:
        return
    table = table_of("Rooms, predicted")
    dampers = any("damper_loss" in readings[key] for key in rooms)
    doors = any("door_pressure" in readings[key] for key in rooms)
    offsets = any("offset_low" in readings[key] for key in rooms)
    names = ["room", "now", "predicted", "share of the load"]
    names += ["damper adds"] * dampers
    names += ["door shut, now", "door shut, predicted"] * doors
    names += ["above thermostat, predicted"] * offsets
    for name in names:
        table.add_column(name, overflow="fold")
    for key in rooms:
        one, old = readings[key], found.get(key, {})
        row = [key, _plain(old.get("flow"), units), span(one["flow"], units)]
        row += [f"{100 * targets[key]['share']:.0f} %" if key in targets else ""]
        if dampers:
            row += [span(one["damper_loss"], units) if "damper_loss" in one else ""]
        if doors:
            row += [
                _plain(old.get("door_pressure"), units),
                span(one["door_pressure"], units) if "door_pressure" in one else "",
            ]
        if offsets:
            row += [_between(one.get("offset_low"), one.get("offset_high"), units)]
        table.add_row(*row)
    console.print()
    console.print(table)


def _steps(console: Console, forecast: Mapping[str, Any], units: str) -> None:
    if len(forecast["steps"]) < 2:
        return
    table = table_of("The scope, step by step in the order of work (effects do not add up)")
    for name in ("with this line too", "external static", "blower", "registers", "blower power"):
        table.add_column(name, overflow="fold")
    for step in forecast["steps"]:
        house = step["readings"]
        names = ("external_static", "airflow", "register_flow", "power")
        table.add_row(step["line"], *(_plain(house.get(name), units) for name in names))
    console.print()
    console.print(table)


def _alternatives(console: Console, forecast: Mapping[str, Any], units: str) -> None:
    if not forecast["alternatives"]:
        return
    table = table_of("One line less or more, with what depends on it")
    for name in ("scope", "fan setting", "external static", "registers", "misses", "close"):
        table.add_column(name, overflow="fold", no_wrap=name == "scope" and console.width >= WIDE)
    for one in forecast["alternatives"]:
        word = "without" if one["kind"] == "smaller" else "with"
        house = one["readings"]
        table.add_row(
            f"{word} {one['line']}",
            one["setting"],
            span(house["external_static"], units),
            span(house["register_flow"], units),
            ", ".join(map(_check, one["misses"])) or "none",
            ", ".join(map(_check, one["close"])) or "none",
        )
    console.print()
    console.print(table)


def _grounds(console: Console, forecast: Mapping[str, Any], units: str) -> None:
    """What the prediction rests on, in a few lines."""
    if forecast["moved"]:
        console.print(Text(f"\nAgainst like for like: {_sentence(forecast['moved'], units)}"))
    rests = "; ".join(
        f"{one['title']} ({100 * one['share']:.0f} %)" for one in forecast["rests_on"].get("house.register_flow", [])
    )
    if rests:
        console.print(Text(f"Most of the doubt of the registers' air: {rests}.", style="dim"))
    calibration = forecast["calibration"]
    said: Iterable[str] = (*calibration["notes"], *calibration["assumed"]) if calibration else ()
    for note in dict.fromkeys((*said, *forecast["scope"]["notes"])):
        console.print(Text(f"Note  {note}", style="dim"))
    text = (
        f"Prediction by {forecast['method']}. It replaces no licensed design: pressures of combustion zones, refrigerant charge and "
        "heating limits are measured on the day, under the local code and the maker's instructions."
    )
    console.print(Text(text, style="dim"))


def _sentence(moved: Iterable[Mapping[str, Any]], units: str) -> str:
    """What moved, in one sentence."""
    parts = []
    for one in moved:
        old, new = (shown(one[end], one["unit"], units) for end in ("from", "to"))
        word = "rises" if one["to"] > one["from"] else "falls"
        parts.append(f"{one['title'][0].lower()}{one['title'][1:]} {word} from {old.split(' ', 1)[0]} to {new}")
    return "; ".join(parts) + "."


def _check(verdict: str) -> str:
    return verdict.partition("@")[0]


def _plain(reading: _Reading | None, units: str) -> str:
    return "" if reading is None else shown(reading["value"], reading["unit"], units)


def _between(low: _Reading | None, high: _Reading | None, units: str) -> str:
    if low is None or high is None:
        return ""
    first = shown(low["value"], low["unit"], units).split(" ", 1)[0]
    return f"{first} to {shown(high['value'], high['unit'], units)}"
