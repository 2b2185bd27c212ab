"""Every page of an archive's file held to its checksum, whether or not anything that is kept stands on it."""

from collections.abc import Callable, Iterator
from pathlib import Path

from airwarrant.errors import ArchiveError, Fault, unread
from airwarrant.records.archive import Archive
from airwarrant.records.database import load_checksums, told
from airwarrant.records.findings import Finding
from airwarrant.records.layout import PAGE_SIZE, RESERVED

_PAGES_AT = 28
_RESERVED_AT = 20
#: Pages read at once.
_AT_ONCE = 64


def damaged_pages(archive: Archive) -> Iterator[Finding]:
    """Give a finding for each page of an open archive that does not agree with its checksum."""

    def read(offset: int, amount: int) -> bytes:
        # In two pieces, neither of a page's length: the file is then read as it is, and no checksum is judged before us.
        pieces = ((offset, amount - 1), (offset + amount - 1, 1))
        return b"".join(archive.connection.read("main", 0, at, length)[1] for at, length in pieces)

    # A reading transaction, so that nobody writes a page while it is read.
    with told(archive.path):
        archive.connection.execute("BEGIN; SELECT count(*) FROM sqlite_schema").fetchall()
        try:
            yield from _damaged(read, archive.path.stat().st_size)
        finally:
            archive.connection.execute("COMMIT")


def damaged_pages_of_file(path: Path) -> Iterator[Finding]:
    """The same of a file that SQLite does not open."""
    try:
        with path.open("rb") as file:
            size = file.seek(0, 2)

            def read(offset: int, amount: int) -> bytes:
                file.seek(offset)
                return file.read(amount)

            yield from _damaged(read, size)
    except OSError as error:
        raise ArchiveError([Fault("cannot-read", f"`{path}` cannot be read: {unread(error)}", "an archive")]) from error


def _damaged(read: Callable[[int, int], bytes], size: int) -> Iterator[Finding]:
    agrees = load_checksums()
    pages = size // PAGE_SIZE
    for first in range(0, pages, _AT_ONCE):
        held = read(first * PAGE_SIZE, min(_AT_ONCE, pages - first) * PAGE_SIZE)
        for number in range(first, min(first + _AT_ONCE, pages)):
            page = held[(number - first) * PAGE_SIZE : (number - first + 1) * PAGE_SIZE]
            if len(page) < PAGE_SIZE or not agrees.execute("SELECT verify_checksum(?)", (page,)).get:
                yield Finding("page-checksum", "the page does not agree with its checksum", page=number + 1)
    head = read(0, _PAGES_AT + 4 + 1)
    if len(head) > _PAGES_AT and head[_RESERVED_AT] != RESERVED:
        yield Finding("page-checksum", "the first page does not say that pages carry checksums", page=1)
    said = int.from_bytes(head[_PAGES_AT : _PAGES_AT + 4], "big")
    if size % PAGE_SIZE or said != pages:
        found = f"the file is {size} bytes long, which is not the {said} pages of {PAGE_SIZE} bytes that it says it has"
        yield Finding("file-length", found)
