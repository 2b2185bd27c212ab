"""Dotted names of a record's fields, such as ``visit[0].room[bed-2].flow``."""

from typing import Any

from airwarrant.source.syntax import Path


def dotted(data: Any, path: Path) -> str:
    """Name the field at `path` of `data`: a block by its id or name, any other list by position.

    A reading has one name whether written as a number or as a block, so a last ``value`` is left out.
    """
    text, here, where = "", data, path[:-1] if len(path) > 1 and path[-1] == "value" else path
    for part in where:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            here = None  # a missing key has a name all the same
        if isinstance(part, int):
            label = here.get("id", here.get("name")) if isinstance(here, dict) else None
            text += f"[{label if isinstance(label, str) else part}]"
        else:
            text += f".{part}" if text else part
    return text
