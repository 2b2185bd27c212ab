"""The reason tree of a line, a declined line, a hold or a finding: rendered from the result alone, never computed again."""

from collections.abc import Mapping
from typing import Any

from airwarrant.errors import Fault, ResultError, nearest
from airwarrant.result.why_rows import Row
from airwarrant.result.why_tree import Tree
from airwarrant.result.why_words import ReasonWords

__all__ = ["TOTAL", "Row", "why"]
#: What the whole price goes by.
TOTAL = "total"


def why(result: Mapping[str, Any], name: str) -> list[Row]:
    """Return the rows that explain `name`.

    Parameters
    ----------
    result : mapping
        A result document.
    name : str
        ``task@place`` of a line or declined line, the name of a hold, ``finding@place``, or ``total`` for the whole price.

    Raises
    ------
    ResultError
        If the result speaks of no such thing; the nearest name is given.
    """
    tree = Tree(result, ReasonWords())
    if name == TOTAL:
        return list(tree.total())
    for line in result["lines"]:
        if name in (line["id"], line["task"]):
            return list(tree.line(line))
    for entry in result["declined"]:
        if name == entry["line"]:
            return list(tree.declined(entry))
    for hold in result["holds"]:
        if name == hold["name"]:
            return list(tree.hold(hold))
    for finding in result["findings"]:
        if name in (f"{finding['finding']}@{finding['at']}", finding["finding"]):
            return list(tree.finding(finding))
    known = [line["id"] for line in result["lines"]] + [d["line"] for d in result["declined"]]
    known += [TOTAL] + [h["name"] for h in result["holds"]] + [f"{f['finding']}@{f['at']}" for f in result["findings"]]
    advice = nearest(name, known) or f"The lines of this result: {', '.join(line['id'] for line in result['lines'])}."
    raise ResultError([Fault("unknown-line", f"nothing called `{name}` in this result", advice=advice)])
