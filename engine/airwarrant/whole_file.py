"""Files written whole or not at all, and one text for a place that cannot be written."""

import errno
import os
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from airwarrant.errors import CallError, Fault

_FULL = "Free some room or give another place; what stood there is as it was."
_BARRED = "Give a place that you may write to, or ask who keeps this one."
#: Why, in plain words, and what to do about it.
_WHY = {
    errno.EACCES: ("you may not write there", _BARRED),
    errno.EPERM: ("you may not write there", _BARRED),
    errno.EROFS: ("nothing may be written there, it is read-only", _BARRED),
    errno.ENOSPC: ("the disk is full", _FULL),
    errno.EDQUOT: ("your share of the disk is full", _FULL),
    errno.EFBIG: ("the file would be larger than is allowed here", _FULL),
    errno.ENOENT: ("its folder is not there", "Make the folder first, or give another place."),
    errno.ENOTDIR: ("a file stands where a folder must be", "Give another place."),
    errno.EEXIST: ("a file stands where a folder must be", "Give another place."),
    errno.EISDIR: ("a folder stands there", "Give the name of a file."),
    errno.ENAMETOOLONG: ("the name is too long", "Give a shorter one."),
}


@contextmanager
def writing(target: Path) -> Iterator[BinaryIO]:
    """Give a file to write, which takes the target's name once the block has ended well; a file that is there keeps its rights.

    The bytes stand on the disk beside the target before they take its name: whoever is stopped in between leaves the old file.
    What is no file, such as a pipe, is written to as it is.

    Raises
    ------
    OSError
        With the name of the target; the file that was there is as it was.
    """
    target = target.resolve()  # a link stays one
    # Of this process: two that write the same file do not mix their bytes.
    beside = target.with_name(f".{target.name[:60]}.{os.getpid()}.new")
    try:
        if target.exists() and not target.is_file():
            with target.open("wb") as file:
                yield file
            return
        with beside.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, beside)
        beside.replace(target)
    except OSError as error:
        error.filename = str(target)
        raise
    finally:
        with suppress(OSError):
            beside.unlink()


def write_whole(target: Path, data: bytes) -> None:
    """Write a file, new or in place of the one that is there; see `writing`."""
    with writing(target) as file:
        file.write(data)


def write_file(target: Path, data: bytes) -> None:
    """Write one file that a user asked for, as `write_whole` does.

    Raises
    ------
    CallError
        ``cannot-write``, with why and what to do.
    """
    with told_plainly(target):
        write_whole(target, data)


def write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files into a folder, which is made where it lacks; each file whole, in their order.

    Raises
    ------
    CallError
        ``cannot-write``, with why and what to do.
    """
    with told_plainly(folder):
        folder.mkdir(parents=True, exist_ok=True)
        for name, data in files.items():
            write_whole(folder / name, data)


@contextmanager
def told_plainly(place: Path) -> Iterator[None]:
    """Turn an `OSError` of writing into the one fault ``cannot-write``; `place` is named where the error names none."""
    try:
        yield
    except OSError as error:
        why, advice = _WHY.get(error.errno or 0, (str(error.strerror or error), "Give another place."))
        found = f"`{error.filename or place}` cannot be written: {why}"
        raise CallError([Fault("cannot-write", found, "a place that can be written", advice=advice)]) from error
