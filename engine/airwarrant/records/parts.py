"""Parts of entries: stored once by the digest of what they hold, packed; a document's long members stand apart, as they repeat."""

import json
import zlib
from collections.abc import Iterator, Mapping
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from airwarrant.errors import ArchiveError, Fault
from airwarrant.records.canonical import in_order

if TYPE_CHECKING:
    import apsw

#: Bound on a part unpacked; a result of a hundred rooms stays well under it.
MOST_BYTES = 64_000_000
#: A member of a document shorter than this is not worth a row of its own.
LONG = 2_000
WHOLE, PIECES = 0, 1
_LEVEL = 6


def document_part(value: Mapping[str, Any], text: bytes | None = None) -> tuple[bytes, dict[bytes, tuple[int, bytes]]]:
    """Return the digest of a document's text and its rows: digest -> (form, what the row holds, unpacked).

    Members at the top, and one level below, that are long stand in rows of their own.

    Parameters
    ----------
    value : mapping
        The document.
    text : bytes or None
        Its JSON without spaces, keys in order, if it is at hand.
    """
    text = in_order(value) if text is None else text
    digest = sha256(text).digest()
    rows: dict[bytes, tuple[int, bytes]] = {}
    apart: list[list[Any]] = []

    def cut(held: Mapping[str, Any], path: tuple[str, ...]) -> dict[str, Any]:
        left: dict[str, Any] = {}
        for key, member in held.items():
            here = (*path, key)
            if isinstance(member, Mapping) and member and len(here) == 1:
                left[key] = cut(member, here)
                continue
            body = in_order(member) if isinstance(member, str | list | tuple | dict) else b""
            if len(body) < LONG:
                left[key] = member
                continue
            piece = sha256(body).digest()
            rows[piece] = (WHOLE, body)
            apart.append([*here, piece.hex()])
            left[key] = None
        return left

    rest = cut(value, ())
    if apart:
        rows[digest] = (PIECES, in_order({"rest": rest, "apart": apart}))
    else:
        rows[digest] = (WHOLE, text)
    return digest, rows


def bytes_part(content: bytes) -> tuple[bytes, dict[bytes, tuple[int, bytes]]]:
    """Return the digest of a content and its one row."""
    digest = sha256(content).digest()
    return digest, {digest: (WHOLE, content)}


def has_part(connection: "apsw.Connection", digest: bytes) -> bool:
    """Whether a part is stored."""
    return bool(connection.execute("SELECT 1 FROM part WHERE digest = ?", (digest,)).get)


def packed(content: bytes) -> bytes:
    """A content as a row holds it."""
    return zlib.compress(content, _LEVEL)


def unpacked(body: bytes, what: str) -> bytes:
    """A row's content, never more than `MOST_BYTES`; raise `ArchiveError` if it is not one."""
    machine = zlib.decompressobj()
    try:
        content = machine.decompress(body, MOST_BYTES)
    except zlib.error as error:
        raise _damaged(f"{what} cannot be unpacked") from error
    if not machine.eof or machine.unused_data:
        raise _damaged(f"{what} is cut, longer than {MOST_BYTES} bytes, or has something behind it")
    return content


def read_part(connection: "apsw.Connection", digest: bytes, what: str) -> bytes:
    """Return a part's content, held to its digest.

    Raises
    ------
    ArchiveError
        If it is not there or not what its digest says.
    """
    row = connection.execute("SELECT form, body FROM part WHERE digest = ?", (digest,)).fetchone()
    if row is None:
        raise _damaged(f"{what} is missing from the archive")
    form, body = row
    content = unpacked(body, what)
    if form == PIECES:
        content = _together(connection, content, what)
    if sha256(content).digest() != digest:
        raise _damaged(f"{what} is not what its digest says")
    return content


def document_of(content: bytes, what: str) -> dict[str, Any]:
    """Read a document's content."""
    try:
        value = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise _damaged(f"{what} is no JSON") from error
    if not isinstance(value, dict):
        raise _damaged(f"{what} is no document")
    return value


def pieces_of(content: bytes, what: str) -> Iterator[tuple[list[str], bytes]]:
    """Path and digest of each piece that stands apart."""
    apart = document_of(content, what).get("apart")
    if not isinstance(apart, list):
        raise _damaged(f"{what} does not say what it is made of")
    for one in apart:
        if not isinstance(one, list) or not 2 <= len(one) <= 3 or not all(isinstance(name, str) for name in one):
            raise _damaged(f"{what} does not say what it is made of")
        try:
            yield one[:-1], bytes.fromhex(one[-1])
        except ValueError as error:
            raise _damaged(f"{what} does not say what it is made of") from error


def _together(connection: "apsw.Connection", content: bytes, what: str) -> bytes:
    whole = document_of(content, what).get("rest")
    if not isinstance(whole, dict):
        raise _damaged(f"{what} does not say what it is made of")
    length = len(content)
    for path, digest in pieces_of(content, what):
        row = connection.execute("SELECT form, body FROM part WHERE digest = ?", (digest,)).fetchone()
        if row is None or row[0] != WHOLE:
            raise _damaged(f"{what}: the piece `{'.'.join(path)}` is missing from the archive")
        piece = unpacked(row[1], what)
        if sha256(piece).digest() != digest:
            raise _damaged(f"{what}: the piece `{'.'.join(path)}` is not what its digest says")
        length += len(piece)
        if length > MOST_BYTES:
            raise _damaged(f"{what} is longer than {MOST_BYTES} bytes")
        held: Any = whole
        for key in path[:-1]:
            held = held.get(key) if isinstance(held, dict) else None
        if not isinstance(held, dict) or path[-1] not in held:
            raise _damaged(f"{what}: the piece `{'.'.join(path)}` has no place in it")
        try:
            held[path[-1]] = json.loads(piece)
        except (ValueError, RecursionError) as error:
            raise _damaged(f"{what}: the piece `{'.'.join(path)}` is no JSON") from error
    try:
        return in_order(whole)
    except (ValueError, RecursionError) as error:
        raise _damaged(f"{what} is no document") from error


def _damaged(found: str) -> ArchiveError:
    return ArchiveError([Fault("damaged-entry", found, advice="`airwarrant audit verify` says what else is damaged.")])
