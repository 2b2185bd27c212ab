"""A row of the reason tree, and the places that rows lead to."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the tree: `depth` from 0, the text, where it is written down, and what sort of row it is.

    `mark` is ``head, rule, clause, reading, limit, note``; a reader who sees no colour loses nothing by it. `of` names the
    policy values or the rule that the row speaks of.
    """

    depth: int
    text: str
    place: str = ""
    mark: str = "note"
    of: tuple[str, ...] = ()


class RecordPlaces:
    """Where the record of a result has what was read."""

    def __init__(self, result: Mapping[str, Any]) -> None:
        self._record = result["program"]["record"]

    def reading(self, path: str) -> str:
        """Return where a reading stands, empty where that is not known."""
        where = self._record["places"].get(path)
        return f"{self._record['file']}:{where}" if where else ""

    def word(self, subject: str, field: str) -> str:
        """Return where a word of a subject stands, empty where that is not known."""
        return self.reading(f"{subject}.{field}")


def place(entry: Mapping[str, Any]) -> str:
    """Return ``file:line:column`` of something in a policy file."""
    return f"{entry['file']}:{entry['line']}:{entry['column']}" if "file" in entry else ""


def row_place(entry: Mapping[str, Any], row: int | None) -> str:
    """Return the place of a value, or of the row of a table that answered."""
    if row is None or "rows_at" not in entry:
        return place(entry)
    line, column = entry["rows_at"][row]
    return f"{entry['file']}:{line}:{column}"
