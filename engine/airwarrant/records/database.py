"""An archive's file opened and held to what it must be; SQLite's errors in words that say what to do.

Each page carries a checksum (SQLite's ``cksumvfs``), which is checked whenever a page is read. A rollback journal, not a write-ahead
log: an archive is then one file that can be copied, put on read-only media and read where nothing can be written.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from airwarrant.errors import ArchiveError, Fault
from airwarrant.records.layout import APPLICATION_ID, PAGE_SIZE, RESERVED, STEPS, VERSION, statements

if TYPE_CHECKING:
    import apsw

#: How long one process waits for another that is writing, in milliseconds.
PATIENCE = 60_000
_RESERVED_AT = 20
_EMPTY = "nothing was kept in it yet"


def connect(path: Path, *, write: bool) -> "apsw.Connection":
    """Open the file of an archive; one that is not there or is empty is made if it is to be written.

    Raises
    ------
    ArchiveError
        If it cannot be read or written, is not an archive, is of a newer layout, or is damaged.
    """
    import apsw

    load_checksums()
    there = _size(path)
    if not there and not write:
        advice = "Keep a job with `airwarrant run JOB --keep`, or name the file with --archive."
        found = f"there is no archive `{path}`" if there is None else f"`{path}` is empty: {_EMPTY}"
        raise ArchiveError([Fault("no-archive", found, "a file that `--keep` wrote", advice=advice)])
    with told(path, write=write):
        flags = apsw.SQLITE_OPEN_READWRITE | (apsw.SQLITE_OPEN_CREATE if write else 0)
        connection = apsw.Connection(str(path), flags=flags, vfs="cksmvfs")
        try:
            _ready(connection, path, write=write)
        except BaseException:
            connection.close()
            raise
        return connection


@cache
def load_checksums() -> "apsw.Connection":
    """Load the checksums into SQLite once a process; returns a connection in memory that knows ``verify_checksum``."""
    import apsw
    import apsw.sqlite_extra

    apsw.sqlite_extra.load(apsw.Connection(":memory:"), "cksumvfs")
    return apsw.Connection(":memory:")


@contextmanager
def told(path: Path, *, write: bool = False) -> Iterator[None]:
    """Say what SQLite met, with the file's name, as an `ArchiveError`; `write` is whether it was to be written."""
    import apsw

    try:
        yield
    except apsw.FullError as error:
        raise _not_written(path, "the disk is full") from error
    except apsw.ReadOnlyError as error:
        raise _not_written(path, "you may not write to it or to its folder") from error
    except (apsw.CantOpenError, apsw.PermissionsError, apsw.AuthError) as error:
        if write:
            raise _not_written(path, "its folder is not there, or you may not write there") from error
        raise _not_read(
            path, "you may not read it, or not tidy up in its folder after a writer that was killed"
        ) from error
    except (apsw.BusyError, apsw.LockedError) as error:
        found = f"another program is writing to `{path}` all the while"
        raise ArchiveError([Fault("archive-busy", found, advice="Nothing was kept; try again.")]) from error
    except (apsw.NotADBError, apsw.FormatError) as error:
        raise _not_ours(path, "no archive, or its first page is damaged") from error
    except (apsw.CorruptError, apsw.ConstraintError, apsw.SQLError) as error:
        raise damaged(path, "its tables contradict each other") from error
    except apsw.IOError as error:
        raise _io_error(path, error) from error


def damaged(path: Path, found: str) -> ArchiveError:
    """What to raise where an archive is not as it was written."""
    advice = "`airwarrant audit verify` says what is damaged; take the rest from a copy or an export."
    return ArchiveError([Fault("damaged-archive", f"`{path}` is damaged: {found}", advice=advice)])


def _io_error(path: Path, error: "apsw.IOError") -> ArchiveError:
    import apsw

    extended = getattr(error, "extendedresult", 0)
    if extended == apsw.SQLITE_IOERR_DATA:
        return damaged(path, "a page does not agree with its checksum")
    if extended in (apsw.SQLITE_IOERR_READ, apsw.SQLITE_IOERR_SHORT_READ, apsw.SQLITE_IOERR_ACCESS):
        return _not_read(path, "the disk does not give it")
    return _not_written(path, "the disk is full, or a limit of the system is reached")


def _not_written(path: Path, why: str) -> ArchiveError:
    advice = "What was kept before is safe, this was not kept; see to it and keep the job again."
    return ArchiveError([Fault("cannot-write", f"`{path}` cannot be written: {why}", advice=advice)])


def _not_read(path: Path, why: str) -> ArchiveError:
    advice = "Use an archive, or a copy, that you may read."
    return ArchiveError([Fault("cannot-read", f"`{path}` cannot be read: {why}", advice=advice)])


def _not_ours(path: Path, why: str) -> ArchiveError:
    return ArchiveError([Fault("not-an-archive", f"`{path}` is {why}", "a file that `--keep` wrote")])


def _size(path: Path) -> int | None:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _not_read(path, error.strerror or "the system does not say why") from error


def _ready(connection: "apsw.Connection", path: Path, *, write: bool) -> None:
    connection.set_busy_timeout(PATIENCE)
    # A file from elsewhere may hold triggers and views of its own: none may call what is not SQLite's own.
    connection.execute("PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON")
    if write:
        connection.reserve_bytes("main", RESERVED)
        connection.execute(f"PRAGMA page_size = {PAGE_SIZE}")
        # EXTRA: the folder is synchronised too once the journal is gone, so that a power cut after the answer takes nothing back.
        connection.execute("PRAGMA synchronous = EXTRA; PRAGMA secure_delete = ON; PRAGMA foreign_keys = ON")
        _make(connection)
    else:
        connection.execute("PRAGMA query_only = ON")
    _check(connection, path)
    if write:
        _bring_up(connection)


def _make(connection: "apsw.Connection") -> None:
    """Lay out an empty file; another process may have done it meanwhile."""
    if connection.execute("SELECT count(*) FROM sqlite_schema").get:
        return
    with transaction(connection):
        if connection.execute("SELECT count(*) FROM sqlite_schema").get:
            return
        for text in statements(VERSION):
            connection.execute(text)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {VERSION}")


def _check(connection: "apsw.Connection", path: Path) -> None:
    """Hold the file to its format, its version, its tables and its checksums."""
    if connection.execute("PRAGMA application_id").get != APPLICATION_ID:
        raise _not_ours(path, "a file of another program")
    version = connection.execute("PRAGMA user_version").get
    if not 1 <= version <= VERSION:
        found = f"`{path}` has layout {version}; this airwarrant knows layouts up to {VERSION}"
        raise ArchiveError([Fault("newer-archive", found, advice="Use the newer airwarrant that wrote it.")])
    tables = {
        " ".join(sql.split()) for (sql,) in connection.execute("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL")
    }
    if tables != {" ".join(text.split()) for text in statements(version)}:
        raise damaged(path, "its tables are not those that airwarrant makes")
    first = connection.read("main", 0, _RESERVED_AT, 1)[1]
    if first != bytes([RESERVED]):
        raise damaged(path, "its pages carry no checksums")


def _bring_up(connection: "apsw.Connection") -> None:
    """Bring an older layout up to this one, step by step in one transaction."""
    if connection.execute("PRAGMA user_version").get == VERSION:
        return
    with transaction(connection):
        version = connection.execute("PRAGMA user_version").get
        for step in range(version + 1, VERSION + 1):
            for text in STEPS[step]:
                connection.execute(text)
        connection.execute(f"PRAGMA user_version = {VERSION}")


@contextmanager
def transaction(connection: "apsw.Connection") -> Iterator[None]:
    """One writing transaction: all of it or nothing; what was begun is taken back whatever happens."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
