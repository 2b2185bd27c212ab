"""A reason tree beside another: which rows only one side has, and which branches both have alike and a page may fold."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from airwarrant.papers.audit_tree import branches
from airwarrant.result.why_rows import Row


@dataclass(frozen=True, slots=True)
class Beside:
    """One row of a nested list.

    Attributes
    ----------
    row : Row
    alike : bool
        Whether the other side says it too.
    inward : bool
        The rows below it follow, one level further in.
    folded : bool
        With `inward`: they, and this one, are all alike.
    closing : tuple of bool
        One for each level that ends after this row, innermost first: whether that level is folded.
    """

    row: Row
    alike: bool
    inward: bool
    folded: bool
    closing: tuple[bool, ...]


def beside(rows: Sequence[Row], others: Sequence[Row]) -> Iterator[Beside]:
    """Yield the rows of a tree as they stand beside those of another; beside none at all there is nothing to tell apart."""
    said = {row.text for row in others}
    open_: list[bool] = []
    for at, branch in enumerate(branches(rows)):
        alike = not said or branch.row.text in said
        folded = bool(said) and branch.inward and at > 0 and alike and not any(open_) and _alike_below(rows, at, said)
        closing = tuple(open_.pop() for _ in range(branch.outward))
        if branch.inward:
            open_.append(folded)
        yield Beside(branch.row, alike, branch.inward, folded, closing)


def _alike_below(rows: Sequence[Row], at: int, said: Collection[str]) -> bool:
    for row in rows[at + 1 :]:
        if row.depth <= rows[at].depth:
            return True
        if row.text not in said:
            return False
    return True
