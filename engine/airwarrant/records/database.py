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
    """Say what SQLite met, with the file's name, as an `ArchiveError`."""
    import apsw

    try:
        yield
    except apsw.FullError as error:
        raise _error(path, "disk-full", "the disk is full", "Make room and keep the job again.") from error
    except apsw.ReadOnlyError as error:
        raise _error(
            path, "cannot-write", "it cannot be written", "Use a file and a folder you may write to."
        ) from error
    except apsw.CantOpenError as error:
        doing = "made or opened" if write else "opened"
        raise _error(
            path, "cannot-open", f"it cannot be {doing}", "Use a file and a folder you may read and write."
        ) from error
    except (apsw.BusyError, apsw.LockedError) as error:
        raise _error(
            path, "archive-busy", "another program has been writing to it all the while", "Try again."
        ) from error
    except (apsw.NotADBError, apsw.FormatError) as error:
        raise _error(path, "not-an-archive", "it is not an archive, or its first page is damaged", _DAMAGED) from error
    except (apsw.CorruptError, apsw.ConstraintError) as error:
        raise _error(path, "damaged-archive", f"it is damaged: {error}", _DAMAGED) from error
    except apsw.IOError as error:
        raise _io_error(path, error) from error
    except apsw.PermissionsError as error:
        raise _error(
            path, "cannot-open", "you may not open it", "Use a file and a folder you may read and write."
        ) from error


def _io_error(path: Path, error: "apsw.IOError") -> ArchiveError:
    import apsw

    writes = (
        apsw.SQLITE_IOERR_WRITE, apsw.SQLITE_IOERR_FSYNC, apsw.SQLITE_IOERR_DIR_FSYNC, apsw.SQLITE_IOERR_TRUNCATE,
        apsw.SQLITE_IOERR_DELETE,
    )  # fmt: skip
    extended = getattr(error, "extendedresult", 0)
    if extended == apsw.SQLITE_IOERR_DATA:
        return _error(path, "damaged-archive", "a page does not agree with its checksum", _DAMAGED)
    if extended in writes:
        advice = "See whether the disk is full or a size limit is set; then keep the job again."
        return _error(path, "cannot-write", "it cannot be written", advice)
    return _error(path, "cannot-read", f"it cannot be read: {error}", "Check the disk, or use a copy.")


_DAMAGED = "`airwarrant audit verify` says what is damaged; take what is sound from a copy or an export."


def _error(path: Path, code: str, found: str, advice: str) -> ArchiveError:
    return ArchiveError(
        [
            Fault(
                code,
                f"`{path}`: {found}",
                advice=f"{advice} Nothing that was kept before is lost" if code in _SAFE else advice,
            )
        ]
    )


_SAFE = ("disk-full", "cannot-write", "archive-busy")


def _size(path: Path) -> int | None:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return None
    except OSError as error:
        raise ArchiveError([Fault("cannot-open", f"`{path}`: {error.strerror}", "a file that can be read")]) from error


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
        raise _error(path, "not-an-archive", "it is a file of another program", "Name an archive that `--keep` wrote.")
    version = connection.execute("PRAGMA user_version").get
    if not 1 <= version <= VERSION:
        found = f"its layout is version {version}; this airwarrant knows up to {VERSION}"
        raise _error(path, "newer-archive", found, "Use the newer airwarrant that wrote it.")
    tables = {
        " ".join(sql.split()) for (sql,) in connection.execute("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL")
    }
    if tables != {" ".join(text.split()) for text in statements(version)}:
        raise _error(path, "changed-layout", "its tables are not those that airwarrant makes", _DAMAGED)
    first = connection.read("main", 0, _RESERVED_AT, 1)[1]
    if first != bytes([RESERVED]):
        raise _error(path, "no-checksums", "its pages carry no checksums", _DAMAGED)


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
