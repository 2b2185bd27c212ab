"""Policy values as an auditor reads them: who set each, since when, on what basis, and what it overrode."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.result.why_rows import place


@dataclass(frozen=True, slots=True)
class Value:
    """One policy value; `rows` where it is a table, each with its place."""

    name: str
    entry: Mapping[str, Any]
    shown: str
    rows: tuple[tuple[str, str], ...]
    at: str
    effective: str
    cite: str

    @property
    def unconfirmed(self) -> bool:
        """Whether its source is yet to be confirmed."""
        return bool(self.entry["basis"].get("unconfirmed"))

    @property
    def law(self) -> bool:
        """Whether it is adopted law."""
        return "adopted" in self.entry["basis"] or self.entry["layer"].startswith("codes/")


def policy_values(result: Mapping[str, Any]) -> list[Value]:
    """Return every policy value that was read, by name."""
    since = {one["layer"]: one["effective"] for one in result["dates"]["layers"]}
    return [_value(name, entry, since) for name, entry in result["trace"]["policy"].items()]


def unconfirmed(result: Mapping[str, Any]) -> list[Value]:
    """Return the values whose source is yet to be confirmed, adopted law first."""
    return sorted((one for one in policy_values(result) if one.unconfirmed), key=lambda one: not one.law)


def overridden(result: Mapping[str, Any]) -> list[tuple[str, list[Value]]]:
    """Return the values that one layer set over another, by the layer that did."""
    layers: dict[str, list[Value]] = {}
    for value in policy_values(result):
        if value.entry["overrode"]:
            layers.setdefault(value.entry["layer"], []).append(value)
    return list(layers.items())


def shown(value: Any, unit: str) -> str:
    """Return a value of policy with its unit; the rows of a table one after another."""
    if isinstance(value, list):
        return "; ".join(_row(row) for row in value) + ("" if unit == "1" else f" {unit}")
    text = f"{value:g}" if isinstance(value, (int, float)) and not isinstance(value, bool) else str(value)
    return text if unit == "1" else f"{text} {unit}"


def _value(name: str, entry: Mapping[str, Any], since: Mapping[str, str]) -> Value:
    rows: tuple[tuple[str, str], ...] = ()
    if entry["kind"] == "table":
        rows = tuple(
            (_row(row), f"{line}:{column}") for row, (line, column) in zip(entry["rows"], entry["rows_at"], strict=True)
        )
    basis = entry["basis"]
    cite = ", ".join(filter(None, (basis.get("cite", ""), basis.get("edition", ""))))
    once = shown(entry["value"], entry["unit"]) if "value" in entry else ""
    return Value(name, entry, once, rows, place(entry), since.get(entry["layer"], ""), cite)


def _row(row: Any) -> str:
    """One row of a table: what is asked by, an arrow, what it answers."""
    cells = [f"{cell:g}" if isinstance(cell, (int, float)) else str(cell) for cell in row]
    return " → ".join((", ".join(cells[:-1]), cells[-1]))
