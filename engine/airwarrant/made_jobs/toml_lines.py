"""A record's data as TOML text: scalars and readings first, then blocks, then lists of blocks, in the order given."""

from collections.abc import Iterator
from datetime import date
from json import JSONEncoder
from typing import Any

Data = dict[str, Any]

# A JSON string is a TOML string: the same quotes and the same escapes. One encoder serves all.
_quoted = JSONEncoder(ensure_ascii=False).encode


def toml_text(data: Data) -> str:
    """Write data whose values are texts, numbers, flags, days, lists of numbers, readings, blocks and lists of blocks.

    A block that has a ``value`` is a reading and stays on one line; any other stands by itself.
    """
    return "\n".join(_block("", data)).strip() + "\n"


def _block(path: str, data: Data) -> Iterator[str]:
    later: list[tuple[str, Any]] = []
    for key, value in data.items():
        if _stands_apart(value):
            later.append((key, value))
        else:
            yield f"{key} = {_value(value)}"
    for key, value in later:
        name = f"{path}{key}"
        for one in [value] if isinstance(value, dict) else value:
            yield ""
            yield f"[{name}]" if one is value else f"[[{name}]]"
            yield from _block(f"{name}.", one)


def _stands_apart(value: Any) -> bool:
    if isinstance(value, dict):
        return "value" not in value
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def _value(value: Any) -> str:
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    return value.isoformat() if isinstance(value, date) else f"{value:.10g}"
