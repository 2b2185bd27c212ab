"""Files of a policies folder written all or none."""

import os
from collections.abc import Mapping
from errno import ENOTDIR
from pathlib import Path

from airwarrant.whole_file import told_plainly, write_whole


def save(folder: Path, files: Mapping[str, str]) -> None:
    """Write files, in their order.

    Parameters
    ----------
    folder : Path
        The policies folder.
    files : mapping
        Name below the folder -> text.

    Raises
    ------
    CallError
        ``cannot-write``; every file is then as it was before.
    """
    before: dict[Path, bytes | None] = {}
    made: list[Path] = []
    with told_plainly(folder):
        try:
            for name, text in files.items():
                target = folder / name
                _make(target.parent, made)
                before[target] = target.read_bytes() if target.exists() else None
                write_whole(target, text.encode())
        except OSError:
            for target, old in before.items():
                _restore(target, old)
            for empty in reversed(made):
                empty.rmdir()
            raise


def _make(folder: Path, made: list[Path]) -> None:
    """Make a folder and what lacks above it, and note each."""
    missing: list[Path] = []
    while not folder.exists():
        missing.append(folder)
        folder = folder.parent
    if not folder.is_dir():
        raise NotADirectoryError(ENOTDIR, os.strerror(ENOTDIR), str(folder))
    for one in reversed(missing):
        one.mkdir()
        made.append(one)


def _restore(target: Path, old: bytes | None) -> None:
    if old is None:
        target.unlink(missing_ok=True)
    elif target.read_bytes() != old:
        write_whole(target, old)
