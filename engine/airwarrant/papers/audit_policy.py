"""Policy values and rules as an auditor reads them: who set each, since when, on what basis, and what it overrode."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.papers.sheet import cited
from airwarrant.result.why_rows import place


@dataclass(frozen=True, slots=True)
class Value:
    """One policy value or rule as the trace has it; `shown` and `rows` are what a parameter and a table say."""

    name: str
    entry: Mapping[str, Any]
    shown: str
    rows: tuple[str, ...]
    at: str
    effective: str
    cite: str

    @property
    def basis(self) -> str:
        """What kind of basis it has, a word of policy."""
        return str(self.entry["basis"].get("kind", ""))

    @property
    def unconfirmed(self) -> bool:
        """Whether its source is yet to be confirmed."""
        return bool(self.entry["basis"].get("unconfirmed") == str(True))

    @property
    def law(self) -> bool:
        """Whether it is adopted law."""
        return "adopted" in self.entry["basis"] or self.entry["layer"].startswith("codes/")


def policy_values(result: Mapping[str, Any]) -> list[Value]:
    """Return every policy value that was read, by name."""
    since = _since(result)
    return [_value(name, entry, since) for name, entry in result["trace"]["policy"].items()]


def cited_rules(result: Mapping[str, Any], names: Iterable[str]) -> list[Value]:
    """Return the rules among some names, by name."""
    rules, since = result["trace"]["rules"], _since(result)
    return [_value(name, rules[name], since) for name in sorted(names) if name in rules]


def unconfirmed(several: Iterable[Value]) -> list[Value]:
    """Return those whose source is yet to be confirmed, adopted law first."""
    return sorted((one for one in several if one.unconfirmed), key=lambda one: not one.law)


def overridden(several: Iterable[Value]) -> list[tuple[str, list[Value]]]:
    """Return the values that one layer set over another, by the layer that did."""
    layers: dict[str, list[Value]] = {}
    for value in several:
        if value.entry["overrode"]:
            layers.setdefault(value.entry["layer"], []).append(value)
    return list(layers.items())


def shown(value: Any, unit: str) -> str:
    """Return a value of policy with its unit; the rows of a table one after another."""
    if isinstance(value, list):
        return "; ".join(_row(row) for row in value) + ("" if unit == "1" else f" {unit}")
    text = f"{value:g}" if isinstance(value, (int, float)) and not isinstance(value, bool) else str(value)
    return text if unit == "1" else f"{text} {unit}"


def _since(result: Mapping[str, Any]) -> dict[str, str]:
    return {one["layer"]: one["effective"] for one in result["dates"]["layers"]}


def _value(name: str, entry: Mapping[str, Any], since: Mapping[str, str]) -> Value:
    rows = tuple(_row(row) for row in entry.get("rows", ()))
    once = shown(entry["value"], entry["unit"]) if "value" in entry else ""
    return Value(name, entry, once, rows, place(entry), since.get(entry["layer"], ""), cited(entry["basis"]))


def _row(row: Any) -> str:
    """One row of a table: what is asked by, an arrow, what it answers."""
    cells = [f"{cell:g}" if isinstance(cell, (int, float)) else str(cell) for cell in row]
    return " → ".join((", ".join(cells[:-1]), cells[-1]))
