"""What a later visit changed: the change order."""

from collections.abc import Iterable, Mapping
from typing import Any

from airwarrant.result.serial import digest


def changes(earlier: Mapping[str, Any], lines: Iterable[Mapping[str, Any]], visit: str) -> dict[str, Any]:
    """Name the result that is superseded, the visit that did it, and the lines added, removed and changed."""
    before = {line["id"]: line for line in earlier["lines"]}
    after = {line["id"]: line for line in lines}
    return {
        "result": digest(dict(earlier)),
        "visit": visit,
        "added": sorted(after.keys() - before.keys()),
        "removed": sorted(before.keys() - after.keys()),
        "changed": [
            {"line": name, "from": _state(before[name]), "to": _state(after[name])}
            for name in sorted(before.keys() & after.keys())
            if _state(before[name]) != _state(after[name])
        ],
    }


def _state(line: Mapping[str, Any]) -> str:
    size = f", {line['size']}" if line["size"] else ""
    return f"{line['state']}, {line['tier']}{size}"
