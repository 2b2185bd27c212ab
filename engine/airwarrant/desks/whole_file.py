"""A file written whole or not at all: beside its place first, then moved there."""

import os
import shutil
from pathlib import Path


def write_whole(target: Path, data: bytes) -> None:
    """Write a file, new or in place of the one that is there, whose rights it keeps; raises `OSError` and leaves the old one."""
    target = target.resolve()  # a link stays one
    beside = target.with_name(f".{target.name}.new")
    try:
        with beside.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, beside)
        beside.replace(target)
    except OSError:
        beside.unlink(missing_ok=True)
        raise
