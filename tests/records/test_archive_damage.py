"""A flipped byte anywhere in an archive is found, and where it is."""

import random
import struct
from pathlib import Path

import pytest
from small_archive import findings, made

from airwarrant.errors import ArchiveError
from airwarrant.records.archive import Archive
from airwarrant.records.database import load_checksums
from airwarrant.records.layout import PAGE_SIZE, RESERVED
from airwarrant.records.parts import pieces_of, unpacked


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return made(tmp_path_factory.mktemp("damage") / "a.sqlite").read_bytes()


def _checksum(page: bytes) -> bytes:
    """The checksum of a page as SQLite's documentation of the checksum VFS shim gives it (sqlite.org/cksumvfs.html): two sums over
    32-bit words, each of which the other is added to; written out here from the write-ahead log's description in
    sqlite.org/fileformat2.html, section 4.2, for words of the machine that wrote it, little-endian here."""
    one = two = 0
    for first, second in struct.iter_unpack("<II", page[:-RESERVED]):
        one = (one + first + two) & 0xFFFFFFFF
        two = (two + second + one) & 0xFFFFFFFF
    return struct.pack("<II", one, two)


def test_every_page_carries_the_checksum_that_sqlite_documents(sound: bytes) -> None:
    assert len(sound) % PAGE_SIZE == 0
    for start in range(0, len(sound), PAGE_SIZE):
        page = sound[start : start + PAGE_SIZE]
        assert page[-RESERVED:] == _checksum(page)


def test_a_flip_of_every_single_byte_breaks_the_checksum_of_its_page(sound: bytes) -> None:
    agrees = load_checksums()
    random.seed(7)
    for start in range(0, len(sound), PAGE_SIZE):
        page = bytearray(sound[start : start + PAGE_SIZE])
        assert agrees.execute("SELECT verify_checksum(?)", (bytes(page),)).get == 1
        for at in range(PAGE_SIZE):
            flip = random.randrange(1, 256)
            page[at] ^= flip
            assert agrees.execute("SELECT verify_checksum(?)", (bytes(page),)).get == 0, (start, at, flip)
            page[at] ^= flip


def test_a_flipped_byte_is_found_and_its_page_is_named(sound: bytes, tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    random.seed(11)
    # The whole head of the file, where a flip changes how all of it is read, then places at random.
    places = [*range(100), *random.sample(range(100, len(sound)), 250)]
    for at in places:
        damaged = bytearray(sound)
        damaged[at] ^= 1 << random.randrange(8)
        path.write_bytes(damaged)
        found = findings(path)
        assert [one.page for one in found if one.code == "page-checksum"][:1] == [at // PAGE_SIZE + 1], (at, found)
        assert sorted(one.name for one in tmp_path.iterdir()) == ["a.sqlite"], at


def test_an_entry_whose_own_part_is_damaged_is_named_and_the_others_are_read(sound: bytes, tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    path.write_bytes(sound)
    with Archive.open(path) as archive:
        part = bytes.fromhex(archive.entry(2).parts["record"])
        body = archive.connection.execute("SELECT body FROM part WHERE digest = ?", (part,)).get
    assert isinstance(body, bytes)
    at = sound.index(body[:60])
    path.write_bytes(sound[:at] + bytes([sound[at] ^ 1]) + sound[at + 1 :])
    found = findings(path)
    assert at // PAGE_SIZE + 1 in {one.page for one in found}
    assert 2 in {one.entry for one in found}
    with Archive.open(path) as archive, pytest.raises(ArchiveError, match="checksum"):
        archive.record_text(archive.entry(2))


@pytest.mark.parametrize("change", ["cut", "longer", "odd", "empty page in the middle"])
def test_a_file_that_is_cut_or_grown_is_found(sound: bytes, tmp_path: Path, change: str) -> None:
    path = tmp_path / "a.sqlite"
    middle = len(sound) // PAGE_SIZE // 2 * PAGE_SIZE
    path.write_bytes(
        {
            "cut": sound[:-PAGE_SIZE],
            "longer": sound + bytes(PAGE_SIZE),
            "odd": sound[:-100],
            "empty page in the middle": sound[:middle] + bytes(PAGE_SIZE) + sound[middle + PAGE_SIZE :],
        }[change]
    )
    assert findings(path)


def test_a_part_or_a_piece_of_one_that_is_gone_is_said_by_its_name(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite")
    with Archive.open(path, write=True) as archive:
        guards = archive.connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            archive.connection.execute(f"DROP TRIGGER {name}")
        record, result = (bytes.fromhex(archive.entry(2).parts[name]) for name in ("record", "result"))
        body = archive.connection.execute("SELECT body FROM part WHERE digest = ?", (result,)).get
        assert isinstance(body, bytes)
        (piece,) = (digest for names, digest in pieces_of(unpacked(body, ""), "") if names == ["trace", "rules"])
        archive.connection.execute("DELETE FROM part WHERE digest IN (?, ?)", (record, piece))
        for _, sql in guards:
            archive.connection.execute(str(sql))
    # The rules are the same in every job's result and are stored once.
    gone = "its result: the piece `trace.rules` is missing from the archive"
    assert [(one.entry, one.found) for one in findings(path) if one.code == "part-damaged"] == [
        (1, gone),
        (2, "its record is missing from the archive"),
        (2, gone),
        (3, gone),
        (4, gone),
    ]
