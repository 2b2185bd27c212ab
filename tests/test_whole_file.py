"""A file is written whole or not at all, and who cannot write is told why and what to do."""

import errno
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from airwarrant.errors import CallError
from airwarrant.whole_file import write_file, write_files, write_whole

#: Writes one of two texts over and over until it is killed.
_WRITING = """
import sys
from pathlib import Path
from airwarrant.whole_file import write_whole
print("begun", flush=True)
while True:
    for letter in b"ab":
        write_whole(Path(sys.argv[1]), bytes([letter]) * 2_000_000)
"""


def test_a_file_is_replaced_and_keeps_its_rights(tmp_path: Path) -> None:
    target = tmp_path / "record.toml"
    target.write_bytes(b"old")
    target.chmod(0o640)
    write_whole(target, b"new")
    assert (target.read_bytes(), target.stat().st_mode & 0o777) == (b"new", 0o640)
    assert list(tmp_path.iterdir()) == [target]


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "there").write_bytes(b"old")
    (tmp_path / "link").symlink_to("there")
    write_whole(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "there").read_bytes() == b"new"


def test_what_is_no_file_is_written_to_and_not_replaced() -> None:
    write_file(Path(os.devnull), b"page")
    assert not Path(os.devnull).is_file()


def test_a_long_name_that_the_disk_allows_is_written(tmp_path: Path) -> None:
    write_file(tmp_path / ("n" * 250), b"new")
    assert (tmp_path / ("n" * 250)).read_bytes() == b"new"


def test_a_killed_writer_leaves_a_whole_file(tmp_path: Path) -> None:
    target = tmp_path / "record.toml"
    for delay in (0.0, 0.003, 0.011, 0.029, 0.05):
        writer = subprocess.Popen([sys.executable, "-c", _WRITING, str(target)], stdout=subprocess.PIPE)
        assert writer.stdout is not None
        writer.stdout.readline()
        while not target.exists():
            time.sleep(0.001)
        time.sleep(delay)
        writer.send_signal(signal.SIGKILL)
        writer.communicate()
        assert target.read_bytes() in (b"a" * 2_000_000, b"b" * 2_000_000)


@pytest.mark.parametrize(
    ("code", "says"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EROFS, "it is read-only"),
        (errno.EACCES, "you may not write there"),
        (errno.EIO, os.strerror(errno.EIO)),
    ],
)
def test_what_the_system_refuses_leaves_the_old_file_and_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, says: str
) -> None:
    target = tmp_path / "record.toml"
    target.write_bytes(b"old")

    def refuse(file: int) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr("airwarrant.whole_file.os.fsync", refuse)
    with pytest.raises(CallError) as told:
        write_files(tmp_path, {"record.toml": b"new"})
    (fault,) = told.value.faults
    assert (fault.code, says in fault.found, str(target) in fault.found) == ("cannot-write", True, True)
    assert fault.advice
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [("record.toml", b"old")]


def test_a_file_too_large_for_its_limit_leaves_the_old_one(tmp_path: Path) -> None:
    target = tmp_path / "record.toml"
    target.write_bytes(b"old")
    script = (
        "import resource, signal, sys\nfrom pathlib import Path\nfrom airwarrant.errors import CallError\n"
        "from airwarrant.whole_file import write_file\nsignal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))\n"
        "try:\n    write_file(Path(sys.argv[1]), b'n' * 9000)\nexcept CallError as told:\n    print(told)\n"
    )
    done = subprocess.run([sys.executable, "-c", script, str(target)], capture_output=True, text=True, check=True)
    assert "larger than is allowed here" in done.stdout
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [("record.toml", b"old")]


def test_places_that_cannot_be_are_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"old")
    wrong = {
        tmp_path / "none" / "page.html": "its folder is not there",
        tmp_path / "file" / "page.html": "a file stands where a folder must be",
        tmp_path: "a folder stands there",
        tmp_path / ("n" * 300): "the name is too long",
    }
    for target, says in wrong.items():
        with pytest.raises(CallError, match=says):
            write_file(target, b"page")
    with pytest.raises(CallError, match="a file stands where a folder must be"):
        write_files(tmp_path / "file", {"page.html": b"page"})
