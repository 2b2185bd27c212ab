"""Writers that are killed, that write at once, that meet a full disk or a folder they may not write to: nothing kept is lost."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from killing import HERE, kill_some, said, writer
from small_archive import findings, kept, made

from airwarrant.errors import ArchiveError
from airwarrant.records import database, layout
from airwarrant.records.archive import Archive

NOBODY = 65534


def test_killed_at_random_moments_nothing_said_to_be_kept_is_lost(tmp_path: Path) -> None:
    # A thousand kills: python tests/bench/archive.py --kills 1000
    kill_some(tmp_path / "a.sqlite", kills=30, seed=1)


def test_a_writer_that_is_killed_before_it_commits_leaves_what_was_there(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite")
    before = path.read_bytes()
    code = (
        "import os, signal, sys\n"
        "from pathlib import Path\n"
        "from airwarrant.records.archive import Archive\n"
        "from small_archive import kept\n"
        "archive = Archive.open(Path(sys.argv[1]), write=True)\n"
        "archive.connection.execute('PRAGMA cache_size = 1; BEGIN IMMEDIATE')\n"  # pages spill into the file at once
        "for n in range(400):\n"
        "    row = (os.urandom(32), 0, os.urandom(3000))\n"
        "    archive.connection.execute('INSERT INTO part (digest, form, body) VALUES (?, ?, ?)', row)\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    env = {**os.environ, "PYTHONPATH": str(HERE) + os.pathsep + str(HERE.parent)}
    done = subprocess.run([sys.executable, "-c", code, str(path)], env=env, check=False)
    assert done.returncode == -signal.SIGKILL
    assert (tmp_path / "a.sqlite-journal").exists()
    assert len(path.read_bytes()) > len(before)
    with Archive.open(path) as archive:
        assert len(archive) == 4
    assert path.read_bytes() == before
    assert not findings(path)


def test_two_that_write_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    writers = [writer(path, first, first + 14) for first in (1, 1001)]
    there: dict[int, str] = {}
    for one in writers:
        output, _ = one.communicate()
        assert one.returncode == 0
        there |= said(output)
    assert sorted(there) == [*range(1, 16), *range(1001, 1016)]
    with Archive.open(path) as archive:
        assert {int(entry.job): entry.digest for entry in archive.entries()} == there
    assert not findings(path)


def test_one_that_reads_all_the_while_keeps_nobody_from_writing(tmp_path: Path) -> None:
    path = tmp_path / "a.sqlite"
    with Archive.open(path, write=True) as archive:
        archive.keep_all(kept(number, bare=True) for number in range(1, 1201))
    with Archive.open(path) as reader, Archive.open(path, write=True) as another:
        entries = reader.entries()
        assert next(entries).number == 1
        assert another.keep(kept(5000)).number == 1201
        assert sum(1 for _ in entries) == 1200


def test_a_full_disk_is_said_and_nothing_that_was_kept_is_lost(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite")
    limit = path.stat().st_size + 30_000
    code = (
        f"import resource, runpy, sys; resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}));"
        f" sys.argv = ['keeping_process.py', {str(path)!r}, '100'];"
        f" runpy.run_path({str(HERE / 'keeping_process.py')!r}, run_name='__main__')"
    )
    env = {**os.environ, "PYTHONPATH": str(HERE) + os.pathsep + str(HERE.parent)}
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, check=False)
    assert done.returncode == 2, done.stderr
    assert b"[cannot-write]" in done.stdout
    there = said(done.stdout)
    with Archive.open(path) as archive:
        kept_there = {int(entry.job): entry.digest for entry in archive.entries(after=4)}
    assert there == kept_there
    assert not findings(path)
    with Archive.open(path, write=True) as archive:  # there is room again
        archive.keep(kept(900))
    assert not findings(path)


def test_a_disk_of_a_few_pages_is_said_to_be_full(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite")
    with Archive.open(path, write=True) as archive:
        archive.connection.execute(f"PRAGMA max_page_count = {path.stat().st_size // layout.PAGE_SIZE + 1}")
        with pytest.raises(ArchiveError, match="the disk is full"):
            archive.keep_all(kept(number) for number in range(100, 150))
    assert not findings(path)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that everybody may look into, as pytest's own may not be."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


@pytest.mark.skipif(os.name != "posix", reason="rights of POSIX")
def test_a_folder_that_nobody_may_write_to_is_said_and_its_archive_can_be_read(open_folder: Path) -> None:
    path = made(open_folder / "a.sqlite")
    before = path.read_bytes()
    path.chmod(0o444)
    open_folder.chmod(0o555)
    code = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from airwarrant.errors import ArchiveError\n"
        "from airwarrant.records.archive import Archive\n"
        "from small_archive import findings, kept\n"
        f"one = kept(9)\n"
        f"path = Path({str(path)!r})\n"
        "assert not findings(path)\n"  # all is imported by now: who has no rights may not read the interpreter either
        f"os.getuid() or os.setuid({NOBODY})\n"
        "assert not findings(path)\n"
        "for target in (path, path.with_name('new.sqlite')):\n"
        "    try:\n"
        "        with Archive.open(target, write=True) as archive:\n"
        "            archive.keep(one)\n"
        "    except ArchiveError as error:\n"
        "        print(error)\n"
    )
    env = {**os.environ, "PYTHONPATH": str(HERE) + os.pathsep + str(HERE.parent)}
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, check=False)
    open_folder.chmod(0o755)
    assert done.stdout.count("[cannot-write]") == 2, (done.stdout, done.stderr)
    assert path.read_bytes() == before
    assert [one.name for one in open_folder.iterdir()] == ["a.sqlite"]


def test_an_archive_that_another_holds_all_the_while_is_said_to_be_busy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = made(tmp_path / "a.sqlite")
    monkeypatch.setattr(database, "PATIENCE", 50)
    with Archive.open(path, write=True) as one, Archive.open(path, write=True) as other:
        one.connection.execute("BEGIN IMMEDIATE")
        with pytest.raises(ArchiveError, match="archive-busy"):
            other.keep(kept(9))
        one.connection.execute("ROLLBACK")
        assert other.keep(kept(9)).number == 5


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "no-archive"),
        (b"a letter\n" * 1000, "not-an-archive"),
        (b"SQLite format 3\x00" + bytes(8176), "not-an-archive"),
    ],
)
def test_a_file_of_another_kind_is_said_and_left_alone(tmp_path: Path, content: bytes, code: str) -> None:
    path = tmp_path / "a.sqlite"
    path.write_bytes(content)
    with pytest.raises(ArchiveError, match=code):
        Archive.open(path)
    if content:
        with pytest.raises(ArchiveError, match=code):
            Archive.open(path, write=True)
        assert path.read_bytes() == content
    with pytest.raises(ArchiveError, match="no-archive"):
        Archive.open(tmp_path / "nowhere.sqlite")
    assert not (tmp_path / "nowhere.sqlite").exists()


def test_a_database_of_another_program_is_said_and_left_alone(tmp_path: Path) -> None:
    import sqlite3

    path = tmp_path / "a.sqlite"
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE letter (body)")
    before = path.read_bytes()
    for write in (False, True):
        with pytest.raises(ArchiveError, match="not-an-archive"):
            Archive.open(path, write=write)
    assert path.read_bytes() == before


def test_a_newer_layout_is_said_and_left_alone(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite")
    with Archive.open(path, write=True) as archive:
        archive.connection.execute(f"PRAGMA user_version = {layout.VERSION + 1}")
    before = path.read_bytes()
    for write in (False, True):
        with pytest.raises(ArchiveError, match="newer-archive"):
            Archive.open(path, write=write)
    assert path.read_bytes() == before


def test_an_older_layout_is_read_as_it_is_and_brought_up_when_it_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """There is one layout so far; the way to a next one is tried on one that is made up here."""
    path = made(tmp_path / "a.sqlite")
    before = path.read_bytes()
    monkeypatch.setitem(layout.STEPS, layout.VERSION + 1, ("CREATE TABLE remark (entry INTEGER, said TEXT) STRICT",))
    monkeypatch.setattr(database, "VERSION", layout.VERSION + 1)
    with Archive.open(path) as archive:
        assert len(archive) == 4
    assert path.read_bytes() == before
    with Archive.open(path, write=True) as archive:
        assert archive.connection.execute("PRAGMA user_version").get == layout.VERSION + 1
        assert archive.keep(kept(9)).number == 5
    assert not findings(path)


def test_a_step_to_a_newer_layout_that_fails_leaves_the_older(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = made(tmp_path / "a.sqlite")
    broken = ("CREATE TABLE remark (entry INTEGER) STRICT", "CREATE TABLE remark (entry INTEGER) STRICT")
    monkeypatch.setitem(layout.STEPS, layout.VERSION + 1, broken)
    monkeypatch.setattr(database, "VERSION", layout.VERSION + 1)
    with pytest.raises(ArchiveError):
        Archive.open(path, write=True)
    monkeypatch.undo()
    assert not findings(path)
    with Archive.open(path, write=True) as archive:
        assert archive.keep(kept(9)).number == 5
