"""Every entry of an archive held to its digest and to the one before, and every part to the digest in its entry."""

from collections.abc import Iterator
from hashlib import sha256
from typing import Any

from airwarrant.counted import counted
from airwarrant.errors import ArchiveError
from airwarrant.records import merkle
from airwarrant.records.archive import Archive
from airwarrant.records.database import told
from airwarrant.records.findings import Finding
from airwarrant.records.head import entry_of
from airwarrant.records.kept import ERASURE, Entry

_BATCH = 500


def chain(archive: Archive) -> Iterator[Finding | Entry]:
    """Give every entry whose head is whole and follows the one before, and a finding for each that is not.

    A damaged stretch does not end it: what stands behind is given too.
    """
    previous = ""
    expected = 1
    for number, row in _rows(archive):
        if number > expected:
            gone = f"{expected}" if number == expected + 1 else f"{expected} to {number - 1}"
            yield Finding("entry-missing", f"entry {gone} cannot be read or is gone", entry=expected)
            previous = ""
        expected = number + 1
        if isinstance(row, str):
            yield Finding("entry-unreadable", row, entry=number)
            previous = ""
            continue
        kind, job, head, digest = row
        try:
            entry = entry_of(head)
        except ArchiveError as error:
            yield Finding("head-damaged", error.faults[0].found, entry=number)
            previous = digest.hex()
            continue
        if bytes.fromhex(entry.digest) != digest:
            yield Finding("head-changed", "its head is not what its digest says", entry=number)
        elif (entry.number, entry.kind, entry.job) != (number, kind, job):
            yield Finding("head-changed", "its head is of another number, kind or job", entry=number)
        elif previous != entry.previous and (previous or number == 1):
            yield Finding("chain-broken", f"it does not follow entry {number - 1} as that stands now", entry=number)
        else:
            yield entry
        previous = digest.hex()


def parts_of(archive: Archive, entry: Entry, sound: set[str]) -> Iterator[Finding]:
    """Give a finding for each part of an entry that is not what the entry says.

    Parameters
    ----------
    sound : set of str
        Digests of parts that were found sound before; those of this entry are added.
    """
    if entry.kind == ERASURE:
        yield from _erasure(archive, entry)
    for name, digest in sorted(entry.parts.items()):
        if digest in sound:
            continue
        try:
            if name == "personal":
                yield from _personal(archive, entry, digest)
                continue
            archive.part(entry, name)
        except (ArchiveError, ValueError) as error:
            found = error.faults[0].found if isinstance(error, ArchiveError) else str(error)
            yield Finding("part-damaged", _of_part(found, entry, name), entry=entry.number)
        else:
            sound.add(digest)


def published(archive: Archive, root: str, size: int) -> Iterator[Finding]:
    """Give a finding if the archive's first `size` entries do not have the root that was published of them."""
    digests = [digest for digest, _ in zip(archive.digests(), range(size), strict=False)]
    if len(digests) < size:
        yield Finding(
            "root-differs",
            f"the root was published of {counted(size, 'entry', 'entries')}; the archive has {len(digests)}",
        )
    elif merkle.root(merkle.leaf_hashes(digests)).hex() != root.lower():
        yield Finding("root-differs", f"the root of entries up to {size} is not the one that was published of them")


def structure(archive: Archive) -> Iterator[Finding]:
    """Give what SQLite finds wrong with its tables and indexes."""
    try:
        with told(archive.path):
            said = [str(text) for (text,) in archive.connection.execute("PRAGMA integrity_check(20)").fetchall()]
    except ArchiveError as error:
        said = [error.faults[0].found]
    yield from (Finding("structure", text) for text in said if text != "ok")


def _rows(archive: Archive) -> Iterator[tuple[int, tuple[str, str, str, bytes] | str]]:
    """Number and row of each entry in order; of a damaged one, in words why it cannot be read."""
    last = _last(archive)
    for first in range(1, last + 1, _BATCH):
        end = min(first + _BATCH, last + 1)
        try:
            yield from _between(archive, first, end)
        except ArchiveError:
            for number in range(first, end):
                try:
                    yield from _between(archive, number, number + 1)
                except ArchiveError as error:
                    yield number, f"it cannot be read: {error.faults[0].found.split(': ', 1)[-1]}"


def _between(archive: Archive, first: int, end: int) -> list[tuple[int, tuple[str, str, str, bytes] | str]]:
    with told(archive.path):
        rows: list[Any] = archive.connection.execute(
            "SELECT number, kind, job, head, digest FROM entry WHERE number >= ? AND number < ? ORDER BY number",
            (first, end),
        ).fetchall()
    return [(row[0], tuple(row[1:])) for row in rows]


def _last(archive: Archive) -> int:
    """Number of the last entry, by whichever way to it is sound."""
    last = 0
    for text in ("SELECT max(number) FROM entry", "SELECT max(number) FROM entry INDEXED BY entry_of_job"):
        try:
            with told(archive.path):
                last = max(last, int(archive.connection.execute(text).get or 0))
        except ArchiveError:
            continue
    return last


def _personal(archive: Archive, entry: Entry, digest: str) -> Iterator[Finding]:
    with told(archive.path):
        row: Any = archive.connection.execute(
            "SELECT salt, body FROM personal WHERE entry = ?", (entry.number,)
        ).fetchone()
    by = archive.erased_by(entry)
    if row is not None:
        if sha256(row[0] + row[1]).hexdigest() != digest:
            yield Finding("part-damaged", "its personal data is not what its digest says", entry=entry.number)
        if by:
            found = f"its personal data stands there although entry {by} erased it"
            yield Finding("part-damaged", found, entry=entry.number)
        return
    erasure = archive.entry(by) if by else None
    if erasure is None or erasure.kind != ERASURE or entry.number not in erasure.said.get("of", []):
        yield Finding(
            "part-damaged", "its personal data is gone, and no entry says that it was erased", entry=entry.number
        )


def _erasure(archive: Archive, entry: Entry) -> Iterator[Finding]:
    """Give a finding if what an erasure says is gone was not erased by it, or by one before."""
    of = entry.said.get("of")
    for number in of if isinstance(of, list) else ():
        with told(archive.path):
            row = archive.connection.execute("SELECT by FROM erased WHERE entry = ?", (number,)).fetchone()
        if row is None:
            found = f"it says that it erased the personal data of entry {number}, which is not noted there"
            yield Finding("part-damaged", found, entry=entry.number)


def _of_part(found: str, entry: Entry, name: str) -> str:
    """What was found of a part, beginning with its name; the number of the entry and the file stand beside it."""
    own = f"entry {entry.number}: "
    if found.startswith(own):
        return found.removeprefix(own)
    return f"its {name}: {found.split(': ', 1)[-1] if found.startswith('`') else found}"
