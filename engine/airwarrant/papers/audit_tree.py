"""Rows of a reason tree as a nested list: what opens and what closes around each row."""

from collections.abc import Sequence
from dataclasses import dataclass

from airwarrant.result.why_rows import Row


@dataclass(frozen=True, slots=True)
class Branch:
    """One row, and how the list stands after it: one level further in, or this many levels out."""

    row: Row
    inward: bool
    outward: int

    @property
    def apart(self) -> tuple[str, ...]:
        """Policy values that the row rests on and does not name."""
        return tuple(name for name in self.row.of if name not in self.row.text)

    @property
    def named(self) -> str:
        """The policy value that the row names, empty where it names none."""
        return next((name for name in self.row.of if name in self.row.text), "")


def branches(rows: Sequence[Row]) -> list[Branch]:
    """Return the rows with their nesting; a row that leaps inward goes one level, as a list can."""
    out: list[Branch] = []
    levels = [rows[0].depth] if rows else []
    for row, after in zip(rows, [*rows[1:], None], strict=True):
        follows = levels[0] if after is None else after.depth
        if follows > levels[-1]:
            levels.append(follows)
            out.append(Branch(row, True, 0))
            continue
        outward = 0
        while len(levels) > 1 and levels[-1] > follows:
            levels.pop()
            outward += 1
        out.append(Branch(row, False, outward))
    return out
