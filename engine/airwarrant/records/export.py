"""An archive as one text file of JSON lines, for a copy elsewhere; schema in ``schemas/archive-export.schema.json``.

The head line says how many entries there are and their root. Then, in the order of entries: parts not written before, the entry,
personal data that is still there, and which entries an erasure erased.
"""

import json
from base64 import b64encode
from collections.abc import Callable, Iterator
from typing import Any

from airwarrant.records.archive import Archive
from airwarrant.records.database import told
from airwarrant.records.kept import ERASURE, Entry
from airwarrant.records.parts import PIECES, pieces_of, unpacked
from airwarrant.records.proof import root_of

FORMAT = "airwarrant/archive-export/1"


def export_lines(archive: Archive, tick: Callable[[int], None] | None = None) -> Iterator[bytes]:
    """Give the lines of an export, each with its newline; `tick` is told the number of each entry that is done.

    Raises
    ------
    ArchiveError
        If what is kept cannot be read: a damaged archive is not passed on.
    """
    root = root_of(archive)
    yield _line({"format": FORMAT, "entries": root.size, "root": root.root})
    written: set[bytes] = set()
    for entry in archive.entries():
        if entry.number > root.size:
            return  # kept while this was written
        for name, digest in sorted(entry.parts.items()):
            if name != "personal" and bytes.fromhex(digest) not in written:
                archive.part(entry, name)  # held to its digest
                yield from _part(archive, bytes.fromhex(digest), written)
        yield _line({"entry": entry.head})
        yield from _personal(archive, entry)
        if entry.kind == ERASURE:
            yield _line({"erased": entry.said["of"], "by": entry.number})
        if tick is not None:
            tick(entry.number)


def _part(archive: Archive, digest: bytes, written: set[bytes]) -> Iterator[bytes]:
    if digest in written:
        return
    written.add(digest)
    with told(archive.path):
        form, body = _row(archive, digest)
    if form == PIECES:
        for _, piece in pieces_of(unpacked(body, "a part"), "a part"):
            yield from _part(archive, piece, written)
    yield _line({"part": digest.hex(), "form": form, "body": b64encode(body).decode()})


def _row(archive: Archive, digest: bytes) -> tuple[int, bytes]:
    row: Any = archive.connection.execute("SELECT form, body FROM part WHERE digest = ?", (digest,)).fetchone()
    return row[0], row[1]


def _personal(archive: Archive, entry: Entry) -> Iterator[bytes]:
    with told(archive.path):
        row: Any = archive.connection.execute(
            "SELECT salt, body FROM personal WHERE entry = ?", (entry.number,)
        ).fetchone()
    if row is not None:
        yield _line({"personal": entry.number, "salt": row[0].hex(), "body": row[1].decode()})


def _line(value: dict[str, Any]) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
