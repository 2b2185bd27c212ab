"""The result file's bytes, its digest, and reading it back."""

import json
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

from airwarrant.errors import Fault, ResultError, unread
from airwarrant.source.place import Place

FORMAT = "airwarrant/result/1"
#: Bound on a result file read back; a full trace of a hundred rooms stays well under it.
MOST_BYTES = 64_000_000
#: Lists a reason tree starts from, and the keys each entry must have.
_ENTRIES = {
    "lines": {"id", "task", "title", "place", "tier", "state", "order", "rule"},
    "declined": {"line", "task", "place", "how", "because"},
    "holds": {"name", "lines", "until"},
    "findings": {"finding", "at", "title", "firings"},
    "verdicts": {"id", "check", "subject", "word"},
    "trace.firings": {"id"},
}
_MAKE = "Make it with `airwarrant run JOB --json > RESULT`."
_BLOCKS = ("trace", "trace.policy", "program", "program.record", "predictions")
_INNER = (("trace", "firings"), ("trace", "policy"), ("program", "record"))


def to_bytes(result: dict[str, Any]) -> bytes:
    """Return the file's bytes: UTF-8, one key a line, stable order."""
    return (json.dumps(result, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode()


def compared(result: dict[str, Any]) -> dict[str, Any]:
    """Return the part that is the same for the same record and policy: all but `program` and the carried inputs."""
    return {key: value for key, value in result.items() if key not in ("program", "inputs")}


def digest(result: dict[str, Any]) -> str:
    """SHA-256, hex, of the compared part."""
    return sha256(
        json.dumps(compared(result), ensure_ascii=False, sort_keys=True, allow_nan=False).encode()
    ).hexdigest()


def read_result(path: Path) -> dict[str, Any]:
    """Read a result file.

    Raises
    ------
    ResultError
        If the file cannot be read, is no JSON, or is not a result of this format.
    """
    name = path.name
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)  # enough to see that it is too large
    except OSError as error:
        raise ResultError(
            [Fault("unreadable", f"`{name}` cannot be read: {unread(error)}", "a result file")]
        ) from error
    if len(data) > MOST_BYTES:
        raise ResultError([Fault("too-large", f"`{name}` is too large", f"at most {MOST_BYTES:,} bytes")])
    try:
        result = json.loads(data)
    except json.JSONDecodeError as error:
        place = Place(name, error.lineno, error.colno)
        raise ResultError(
            [Fault("not-json", "from here on this is no JSON", "a result file", place, advice=_MAKE)]
        ) from error
    except (UnicodeDecodeError, RecursionError) as error:
        raise ResultError([Fault("not-json", f"`{name}` is no JSON", "a result file", advice=_MAKE)]) from error
    if not isinstance(result, dict) or result.get("format") != FORMAT:
        held = result.get("format") if isinstance(result, dict) else None
        found = f'"{held}"' if isinstance(held, str) else "it is missing"
        raise ResultError([Fault("not-a-result", found, f'"{FORMAT}"', Place(name, 1, 1), "format", _MAKE)])
    lacking = sorted(_lacking(result))
    if lacking:
        more = f" and {len(lacking) - 3} more" if len(lacking) > 3 else ""
        found = f"parts are missing or not what a result holds: {', '.join(lacking[:3])}{more}"
        advice = "The file was changed or cut; make it again with `airwarrant run JOB --json`."
        raise ResultError([Fault("damaged-result", found, "a whole result file", Place(name, 1, 1), advice=advice)])
    return result


def _lacking(result: dict[str, Any]) -> Iterator[str]:
    """Parts that a reason tree starts from and that are missing or of another kind."""
    parts: dict[str, Any] = {**result}
    for whole, part in _INNER:
        held = result.get(whole)
        parts[f"{whole}.{part}"] = held.get(part) if isinstance(held, dict) else None
    for name, keys in _ENTRIES.items():
        rows = parts.get(name)
        if not isinstance(rows, list) or any(not isinstance(row, dict) or not keys <= row.keys() for row in rows):
            yield name
    for name in _BLOCKS:
        if not isinstance(parts.get(name), dict):
            yield name
