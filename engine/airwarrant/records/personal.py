"""Personal data taken out of what is kept, and put back on reading while it is there.

Personal are: all of a record's ``[customer]``, what the homeowner told, notes, references of photographs, and a file's comments, as
anybody may write anything there. Who of the firm took a reading or overrode a rule, and names of rooms, are the firm's own and stay.
"""

import json
import re
from collections.abc import Iterator, Mapping
from copy import copy
from dataclasses import dataclass
from typing import Any

from airwarrant.errors import ArchiveError, Fault
from airwarrant.job.reading_records import job_document
from airwarrant.records.canonical import canonical

#: What stands where something personal stood.
ERASED = "[erased]"
CUSTOMER = "customer"
#: Keys that are free text wherever they stand in a record or a test-out.
KEYS = ("told", "note", "photo")
_MAYBE = re.compile(rb"#|told|note|photo|customer|\\[uU]")
_HINT = re.compile(f"#|{'|'.join(KEYS)}")
#: Where a file must be read whole to know what is personal: a block that is, or a key that is written in escapes.
_NESTED = re.compile(rb"customer|\\[uU]")
#: Strings and comments of TOML, a string with the key before it where that is one of `KEYS`; of JSON there are only the double-quoted.
_TOKEN = re.compile(
    rf"""((?<![A-Za-z0-9_-])["']?(?:{"|".join(KEYS)})["']?\s*[=:]\s*)?"""
    r'("""(?:\\.|[^\\])*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*')"
    r"|\#[^\n]*",
    re.DOTALL,
)
_EMPTY = ('""', "''")


@dataclass(frozen=True, slots=True)
class Masked:
    """A text without what is personal; `taken` has (first character in `text`, length there, what stood there)."""

    text: bytes
    taken: tuple[tuple[int, int, str], ...]


def mask(text: bytes, file: str) -> Masked:
    """Take what is personal out of a record's or a test-out's file; every other value keeps its line.

    Raises
    ------
    RecordError
        If the file is not TOML or JSON, where it has to be read whole.
    """
    if not _MAYBE.search(text):
        return Masked(text, ())
    plain = text.decode("utf-8")
    where = _places(text, plain, file) if _NESTED.search(text) else None
    out: list[str] = []
    taken: list[tuple[int, int, str]] = []
    copied = length = found = 0
    comments = file.lower().endswith(".toml")
    for token in _TOKEN.finditer(plain) if where is not None or not comments else _hinted(plain):
        key, said = token.groups()
        comment = said is None
        if comment:
            if not comments or token.end() - token.start() == 1:
                continue
            start, said = token.start(), token.group()
        else:
            start = token.start(2)
            if (not key or said in _EMPTY) if where is None else start not in where:
                continue
            found += 1
        stands = "#" if comment else _stand_in(said)
        kept = plain[copied:start]
        length += len(kept)
        taken.append((length, len(stands), said))
        out += (kept, stands)
        length += len(stands)
        copied = token.end()
    out.append(plain[copied:])
    if where is not None and found != len(where):
        raise ArchiveError([Fault("damaged-entry", f"`{file}`: personal data was not found where it was read")])
    return Masked("".join(out).encode(), tuple(taken))


def _hinted(plain: str) -> Iterator[re.Match[str]]:
    """Tokens of a TOML text in whose line there may be something personal; of all lines, where a string may be of several."""
    if '"""' in plain or "'''" in plain:
        yield from _TOKEN.finditer(plain)
        return
    end = -1
    for hint in _HINT.finditer(plain):
        if hint.start() > end:
            end = plain.find("\n", hint.start())
            end = len(plain) if end < 0 else end
            yield from _TOKEN.finditer(plain, plain.rfind("\n", 0, hint.start()) + 1, end)


def _places(text: bytes, plain: str, file: str) -> set[int]:
    """Where each personal text begins, by reading the whole file."""
    document = job_document(text, file)
    lines = [0, *(found.end() for found in re.finditer("\n", plain))]
    places = (document.place(path) for path in personal_paths(document.data))
    return {lines[place.line - 1] + place.column - 1 for place in places}


def unmask(text: bytes, taken: tuple[tuple[int, int, str], ...]) -> bytes:
    """Put back what `mask` took out."""
    plain = text.decode("utf-8")
    out: list[str] = []
    at = 0
    for start, length, said in taken:
        out += (plain[at:start], said)
        at = start + length
    out.append(plain[at:])
    return "".join(out).encode()


def mask_result(
    result: Mapping[str, Any], file: str
) -> tuple[Mapping[str, Any], tuple[tuple[tuple[str | int, ...], str], ...]]:
    """Return a result document without what is personal, and (path, text) of each that was taken out.

    The record's file goes by the name `file` there.
    """
    record = result.get("record")
    stands = [(("record", *path), ERASED) for path in personal_paths(record if isinstance(record, dict) else {})]
    if result["program"]["record"]["file"] != file:
        stands.append((("program", "record", "file"), file))
    if not stands:
        return result, ()
    return with_values(result, stands), tuple((path, str(value_at(result, path))) for path, _ in stands)


def personal_paths(data: Mapping[str, Any]) -> Iterator[tuple[str | int, ...]]:
    """Path of every text in a record's data that is personal."""
    yield from _paths(data, (), inside=False)


def personal_bytes(parts: Mapping[str, Any]) -> bytes:
    """The one text of what was taken out of an entry's parts."""
    return canonical(parts)


def personal_of(body: bytes) -> dict[str, Any]:
    """Read what `personal_bytes` wrote.

    Raises
    ------
    ArchiveError
        If it is nothing of that kind.
    """
    try:
        value = json.loads(body)
    except (ValueError, RecursionError):
        value = None
    if not isinstance(value, dict) or not all(_whole(name, held) for name, held in value.items()):
        found = "personal data is not written as it is kept"
        raise ArchiveError(
            [Fault("damaged-entry", found, advice="`airwarrant audit verify` says what else is damaged.")]
        )
    return value


def _whole(name: str, held: Any) -> bool:
    if name == "file":
        return isinstance(held, str)
    if not isinstance(held, list):
        return False
    if name == "result":
        return all(
            isinstance(one, list)
            and len(one) == 2
            and isinstance(one[0], list)
            and bool(one[0])
            and all(isinstance(key, str | int) for key in one[0])
            and isinstance(one[1], str)
            for one in held
        )
    return name in ("record", "test-out") and all(
        isinstance(one, list)
        and len(one) == 3
        and all(isinstance(number, int) and number >= 0 for number in one[:2])
        and isinstance(one[2], str)
        for one in held
    )


def value_at(data: Any, path: tuple[str | int, ...]) -> Any:
    """The value at a path."""
    for key in path:
        data = data[key]
    return data


def with_values(data: Mapping[str, Any], values: list[tuple[tuple[str | int, ...], str]]) -> dict[str, Any]:
    """Return a document with texts at these paths; what is not on a path is shared, and `data` stays as it is."""
    whole: dict[str, Any] = dict(data)
    fresh = {id(whole): whole}
    for path, text in values:
        held: Any = whole
        for key in path[:-1]:
            inner = held[key]
            if id(inner) not in fresh:
                inner = copy(inner)
                fresh[id(inner)] = inner
                held[key] = inner
            held = inner
        held[path[-1]] = text
    return whole


def _paths(value: Any, path: tuple[str | int, ...], *, inside: bool) -> Iterator[tuple[str | int, ...]]:
    if isinstance(value, dict):
        for key, held in value.items():
            customer = inside or (not path and key == CUSTOMER)
            if isinstance(held, str) and held and (customer or key in KEYS):
                yield (*path, key)
            elif isinstance(held, dict | list):
                yield from _paths(held, (*path, key), inside=customer)
    elif isinstance(value, list):
        for index, held in enumerate(value):
            if isinstance(held, dict | list):
                yield from _paths(held, (*path, index), inside=inside)
            elif inside and isinstance(held, str) and held:
                yield (*path, index)


def _stand_in(said: str) -> str:
    """A string that reads `ERASED` and is as many lines long."""
    lines = said.count("\n")
    if not lines:
        return f'"{ERASED}"'
    newline = "\r\n" if "\r\n" in said else "\n"
    return f'"""{ERASED}\\{newline * lines}"""'
