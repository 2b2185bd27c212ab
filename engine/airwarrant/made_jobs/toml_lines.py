"""A record's data as TOML text: scalars and readings first, then blocks, then lists of blocks, in the order given."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from json import dumps
from typing import Any

Data = Mapping[str, Any]


def toml_text(data: Data) -> str:
    """Write data whose values are texts, numbers, flags, days, lists of numbers, readings, blocks and lists of blocks.

    A mapping under the name ``value`` is a reading and stays on one line; any other mapping is a block of its own.
    """
    return "\n".join(_block((), data)).strip() + "\n"


def _block(path: tuple[str, ...], data: Data) -> Iterator[str]:
    later: list[tuple[str, Any]] = []
    for key, value in data.items():
        if _stands_apart(value):
            later.append((key, value))
        else:
            yield f"{key} = {_value(value)}"
    for key, value in later:
        name = (*path, key)
        if isinstance(value, Mapping):
            yield from ("", f"[{'.'.join(name)}]")
            yield from _block(name, value)
            continue
        for one in value:
            yield from ("", f"[[{'.'.join(name)}]]")
            yield from _block(name, one)


def _stands_apart(value: Any) -> bool:
    if isinstance(value, Mapping):
        return "value" not in value
    return isinstance(value, Sequence) and bool(value) and isinstance(value[0], Mapping)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # A JSON string is a TOML string: the same quotes and the same escapes.
        return dumps(value, ensure_ascii=False)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_value(one)}" for key, one in value.items()) + " }"
    if isinstance(value, Sequence):
        return "[" + ", ".join(_value(one) for one in value) + "]"
    return f"{value:.10g}"
