"""An export taken into an archive. The file is not trusted: everything in it is bounded and held to its digest, and all of it is
taken or nothing. What it holds is data: nothing of it is run, and no name in it becomes a path.
"""

import re
from base64 import b64decode
from binascii import Error as NotBase64
from collections.abc import Callable, Iterator, Mapping
from hashlib import sha256
from typing import Any, BinaryIO

from airwarrant.counted import counted
from airwarrant.errors import ArchiveError, Fault
from airwarrant.records import merkle
from airwarrant.records.archive import Archive
from airwarrant.records.behind import Behind
from airwarrant.records.bounded import bounded_json, nested_at_most
from airwarrant.records.database import told, transaction
from airwarrant.records.export import FORMAT
from airwarrant.records.head import entry_of
from airwarrant.records.kept import ERASURE, Entry
from airwarrant.records.parts import MOST_BYTES, PIECES, WHOLE, has_part, pieces_of, read_part, unpacked
from airwarrant.records.personal import personal_of
from airwarrant.source.place import Place

#: Longest line: a packed part of the largest size in base 64.
MOST_LINE = MOST_BYTES * 3 // 2
#: How deep a line's JSON may be nested: an object that holds numbers or texts in a list.
_DEEPEST = 2
_DEEPEST_HEAD = 8
#: How deep a document in a part may be nested; a result comes to a dozen.
_DEEPEST_PART = 100
_NOT_ERASED = "the line after an erasure does not say what was erased"
_MOST_ENTRIES = 100_000_000
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")
_HEX = re.compile("[0-9a-f]{64}")
_KINDS = {
    "part": {"part", "form", "body"},
    "entry": {"entry"},
    "personal": {"personal", "salt", "body"},
    "erased": {"erased", "by"},
}


def take_in(
    archive: Archive,
    file: BinaryIO,
    name: str,
    tick: Callable[[int], None] | None = None,
    *,
    behind: str = "",
) -> int:
    """Add the entries of an export that the archive does not have; return how many.

    The archive must be empty, or hold the first entries of the very same chain: entries keep their numbers and digests. With `behind`
    they are of any other archive and come behind those that are there, with numbers and digests of their own: an entry of kind ``import``
    says of which archive, and each holds the number and the digest that it had, and its head as the part ``original``.

    Parameters
    ----------
    archive : Archive
        Open for writing.
    file : binary file
        The export, read once from its start.
    name : str
        What to call it in a message.
    behind : str
        When they are taken in, UTC, to put them behind the others; else empty.
    tick : callable or None
        Is told the number of each entry that is done.

    Raises
    ------
    ArchiveError
        With the line at which the file is not what it must be; then nothing was taken in.
    """
    lines = _Lines(file, name)
    with told(archive.path, write=True), transaction(archive.connection):
        return _Taking(archive, lines, tick, behind).all()


class _Lines:
    """The lines of a file, bounded, with the number of the one that was read last."""

    def __init__(self, file: BinaryIO, name: str) -> None:
        self._file = file
        self._name = name
        self.number = 0

    def __iter__(self) -> Iterator[dict[str, Any]]:
        while line := self._file.readline(MOST_LINE + 1):
            self.number += 1
            if len(line) > MOST_LINE:
                raise self.fault(f"the line is longer than {MOST_LINE} bytes")
            try:
                value = bounded_json(line.decode("utf-8"), _DEEPEST)
            except UnicodeDecodeError as error:
                raise self.fault("the line is no text in UTF-8") from error
            except ValueError as error:
                raise self.fault(f"the line cannot be read: {error}") from error
            if not isinstance(value, dict):
                raise self.fault("the line is no object")
            yield value

    def fault(self, found: str, allowed: str = "") -> ArchiveError:
        advice = "Nothing was taken in; make the export again."
        return ArchiveError([Fault("damaged-export", found, allowed, self.place(), advice=advice)])

    def place(self) -> Place:
        return Place(self._name, max(self.number, 1), 1)


class _Taking:
    """One export being taken in."""

    def __init__(self, archive: Archive, lines: _Lines, tick: Callable[[int], None] | None, behind: str) -> None:
        self._archive = archive
        self._behind = Behind(archive, behind) if behind else None
        self._connection = archive.connection
        self._lines = lines
        self._tick = tick
        self._there = list(archive.digests())
        self._leaves: list[bytes] = []
        self._last: Entry | None = None
        #: entry of the file that holds personal data which was neither given nor said to be erased yet -> its digest
        self._open: dict[int, str] = {}
        #: number of each entry in this archive, by its number in the file
        self._numbers: list[int] = []
        self._new: set[int] = set()
        #: number in the file of an erasure whose line with what it erased must come next
        self._erasure = 0

    def all(self) -> int:
        source = iter(self._lines)
        size, root = self._head(next(source, None))
        if self._behind is not None and size:
            self._behind.note(root, size)
        takes = {"part": self._part, "entry": self._entry, "personal": self._personal, "erased": self._erased}
        for line in source:
            kind = next((one for one, keys in _KINDS.items() if line.keys() == keys), None)
            if kind is None:
                raise self._lines.fault("the line is none of an export", ", ".join(_KINDS))
            if self._erasure and kind != "erased":
                raise self._lines.fault(_NOT_ERASED)
            takes[kind](line)
        if self._erasure:
            raise self._lines.fault(_NOT_ERASED)
        if len(self._leaves) != size:
            raise self._lines.fault(
                f"it holds {counted(len(self._leaves), 'entry', 'entries')}; its first line says {size}"
            )
        if merkle.root(self._leaves).hex() != root:
            raise self._lines.fault("its entries do not have the root that its first line says")
        if self._open:
            raise self._lines.fault(
                f"the personal data of entry {min(self._open)} is neither there nor said to be erased"
            )
        return len(self._new)

    def _head(self, line: Mapping[str, Any] | None) -> tuple[int, str]:
        if line is None or line.get("format") != FORMAT:
            found = "it is empty" if line is None else f"format is {str(line.get('format'))[:60]!r}"
            raise self._lines.fault(found, f"`{FORMAT}`")
        size, root = line.get("entries"), line.get("root")
        if not _number(size, 0, _MOST_ENTRIES) or not _is_hex(root):
            raise self._lines.fault("its first line does not say how many entries and which root")
        return int(str(size)), str(root)

    def _part(self, line: Mapping[str, Any]) -> None:
        if not _is_hex(line["part"]) or line["form"] not in (WHOLE, PIECES) or not isinstance(line["body"], str):
            raise self._lines.fault("the part is not written as one")
        digest = bytes.fromhex(line["part"])
        try:
            body = b64decode(line["body"], validate=True)
        except (NotBase64, ValueError) as error:
            raise self._lines.fault("the part is not in base 64") from error
        content = self._held(lambda: unpacked(body, "the part"))
        if content[:1] in (b"{", b"[") and not nested_at_most(content.decode("utf-8", "replace"), _DEEPEST_PART):
            raise self._lines.fault(f"the part is nested deeper than {_DEEPEST_PART}")
        if line["form"] == WHOLE and sha256(content).digest() != digest:
            raise self._lines.fault("the part is not what its digest says")
        if line["form"] == PIECES:
            self._held(lambda: list(pieces_of(content, "the part")))
        if not has_part(self._connection, digest):
            row = (digest, line["form"], body)
            self._connection.execute("INSERT INTO part (digest, form, body) VALUES (?, ?, ?)", row)
            if line["form"] == PIECES:
                self._held(lambda: read_part(self._connection, digest, "the part"))

    def _entry(self, line: Mapping[str, Any]) -> None:
        head = line["entry"]
        if not isinstance(head, str):
            raise self._lines.fault("the entry is no text")
        try:
            told = bounded_json(head, _DEEPEST_HEAD)
        except ValueError as error:
            raise self._lines.fault(f"the entry cannot be read: {error}") from error
        # A head is shown in a terminal, which takes control characters for commands.
        if _CONTROL.search("\n".join(_texts(told))):
            raise self._lines.fault("the entry holds control characters")
        entry = self._held(lambda: entry_of(head))
        number = len(self._leaves) + 1
        if entry.number != number or entry.previous != (self._last.digest if self._last else ""):
            raise self._lines.fault(f"entry {number} does not follow the one before")
        for name, digest in entry.parts.items():
            if not _is_hex(digest):
                raise self._lines.fault(f"entry {number}: the digest of its {name[:40]} is none")
            if name == "personal":
                self._open[number] = digest
            elif not has_part(self._connection, bytes.fromhex(digest)):
                raise self._lines.fault(f"entry {number}: its {name[:40]} does not stand before it")
        raw = bytes.fromhex(entry.digest)
        self._numbers.append(self._place(entry, raw))
        self._erasure = number if entry.kind == ERASURE else 0
        self._leaves += merkle.leaf_hashes((raw,))
        self._last = entry
        if self._tick is not None:
            self._tick(number)

    def _place(self, entry: Entry, raw: bytes) -> int:
        """Put an entry where it belongs unless it is there; return its number in this archive."""
        number = entry.number
        if self._behind is not None:
            there, made = self._behind.place(entry, self._numbers)
            if made:
                self._new.add(there)
            return there
        if number > len(self._there):
            self._archive.insert(entry)
            self._new.add(number)
        elif self._there[number - 1] != raw:
            found = f"its entry {number} is not entry {number} of this archive"
            allowed = "an export of this archive, or an archive that is empty"
            advice = "With --behind its entries come behind those that are there."
            raise ArchiveError([Fault("other-archive", found, allowed, self._lines.place(), advice=advice)])
        return number

    def _personal(self, line: Mapping[str, Any]) -> None:
        number, salt, body = line["personal"], line["salt"], line["body"]
        if not _number(number, 1, len(self._leaves)) or not _is_hex(salt) or not isinstance(body, str):
            raise self._lines.fault("the personal data is not written as it is")
        content = (bytes.fromhex(salt), body.encode())
        if self._open.pop(number, "") != sha256(b"".join(content)).hexdigest():
            raise self._lines.fault(f"the personal data is not that of entry {number}")
        self._held(lambda: personal_of(content[1]))
        # What was erased here stays erased, whatever an older export still holds.
        there = self._numbers[number - 1]
        if there in self._new:
            self._connection.execute("INSERT INTO personal (entry, salt, body) VALUES (?, ?, ?)", (there, *content))

    def _erased(self, line: Mapping[str, Any]) -> None:
        numbers, by = line["erased"], line["by"]
        last = self._last
        if last is None or last.kind != ERASURE or by != last.number or numbers != last.said.get("of"):
            raise self._lines.fault("an erasure is not that of the entry before")
        if not isinstance(numbers, list) or not all(_number(one, 1, last.number) for one in numbers):
            raise self._lines.fault("an erasure does not name entries")
        self._erasure = 0
        for number in numbers:
            self._open.pop(number, None)
            there = self._numbers[number - 1]
            row = (there, self._numbers[by - 1])
            self._connection.execute("INSERT OR IGNORE INTO erased (entry, by) VALUES (?, ?)", row)
            self._connection.execute("DELETE FROM personal WHERE entry = ?", (there,))

    def _held(self, call: Callable[[], Any]) -> Any:
        """What a reader of this package gives; its fault with the line."""
        try:
            return call()
        except ArchiveError as error:
            raise self._lines.fault(error.faults[0].found) from error


def _texts(value: Any) -> Iterator[str]:
    """Every text in a value, keys among them."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, held in value.items():
            yield key
            yield from _texts(held)
    elif isinstance(value, list):
        for held in value:
            yield from _texts(held)


def _number(value: Any, low: int, high: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and low <= value <= high


def _is_hex(value: Any) -> bool:
    return isinstance(value, str) and _HEX.fullmatch(value) is not None
