"""The physics beside a policy table's rows, as `airwarrant policy show` prints it."""

from collections.abc import Sequence
from typing import Any

from rich.table import Table
from rich.text import Text

from airwarrant.cli.console import out
from airwarrant.sizing.beside import Beside
from airwarrant.units import fixed, number


def print_beside(rows: Sequence[Beside]) -> None:
    """Print one line a row and calculation, then each warning once with the rows it speaks of."""
    if not rows:
        return
    console = out()
    if console.is_terminal:
        table = Table("row", "beside it", *(name for _, name, _, _ in rows[0].shown), "", box=None)
        for row in rows:
            table.add_row(_row(row), row.title, *_values(row), "" if row.valid else "doubtful")
        console.print(table)
    else:
        for row in rows:
            named = [f"{name} {value}" for (_, name, _, _), value in zip(row.shown, _values(row), strict=True)]
            said = ", ".join([*named, *([] if row.valid else ["doubtful"])])
            console.print(Text(f"{_row(row)}  {row.title}: {said or row.problem}"), soft_wrap=True)
    warnings: dict[str, list[str]] = {}
    for row in rows:
        for warning in (*row.warnings, *([row.problem] if row.problem else [])):
            warnings.setdefault(warning, []).append(_row(row))
    for warning, where in warnings.items():
        text = f"doubtful at {', '.join(dict.fromkeys(where))}: {warning}"
        console.print(Text(text, style="yellow"), soft_wrap=not console.is_terminal)


def beside_data(row: Beside) -> dict[str, Any]:
    """Return one calculation at one row as JSON has it."""
    return {
        "key": {"value": row.key, "unit": row.by_unit},
        "answer": {"value": row.answer, "unit": row.unit},
        "title": row.title,
        "shown": {key: {"value": number(value, unit), "unit": unit} for key, _, value, unit in row.shown},
        "word": row.word,
        "must_be": row.must_be,
        "limit": row.limit.as_json() if row.limit else None,
        "valid": row.valid,
        "warnings": list(row.warnings),
        "problem": row.problem,
    }


def _row(row: Beside) -> str:
    return f"{row.key:g} {row.by_unit} → {row.answer:g} {row.unit}"


def _values(row: Beside) -> list[str]:
    """Each output shown with its unit; the first with its word, where it is judged."""
    values = [f"{fixed(value, unit)} {unit}" for _, _, value, unit in row.shown]
    if row.limit and values:
        values[0] += f" ({row.must_be} {row.limit.text()}: {row.word})"
    return values
