"""Writers of an archive killed at random moments: what was said to be kept must be there, and the archive whole."""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from itertools import count
from pathlib import Path
from typing import BinaryIO

from small_archive import findings, kept

from airwarrant.records.archive import Archive

HERE = Path(__file__).parent


def writer(path: Path, first: int, last: int | None = None) -> "subprocess.Popen[bytes]":
    """Start a process that keeps jobs from a number on."""
    words: Sequence[str] = [sys.executable, str(HERE / "keeping_process.py"), str(path), str(first)]
    words = [*words, str(last)] if last is not None else words
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(map(str, (HERE, HERE.parent)))}
    return subprocess.Popen(words, stdout=subprocess.PIPE, env=env, cwd=HERE)


def said(output: bytes) -> dict[int, str]:
    """Number and digest of each job that the writer said is kept; a line it did not end says nothing."""
    lines = [line.split() for line in output.decode().splitlines(keepends=True) if line.endswith("\n")]
    return {int(words[1]): words[2] for words in lines if words[0] == "kept"}


def kill_some(path: Path, kills: int, seed: int) -> int:
    """Kill writers at random moments of their writing; return how many jobs are kept in the end.

    Raises
    ------
    AssertionError
        If one that was said to be kept is not there, or the archive is not whole.
    """
    moments = random.Random(seed)
    there: dict[int, str] = {}
    for _ in range(kills):
        process, output = _forked_writer(path, max(there, default=0) + 1)
        # The first line says that it is up and writing; the kill falls somewhere into what it does then.
        first = output.readline()
        time.sleep(moments.uniform(0.0, 0.06))
        os.kill(process, signal.SIGKILL)
        rest = output.read()
        os.waitpid(process, 0)
        output.close()
        told = said(first + rest)
        assert told
        there |= told
        with Archive.open(path) as archive:
            held = {int(entry.job): entry.digest for entry in archive.entries(after=max(0, len(there) - 1000))}
            assert len(archive) >= len(there)
        lately = {job: digest for job, digest in there.items() if job in held or job > max(held)}
        assert lately.items() <= held.items(), sorted(lately.items() - held.items())
        there |= held  # one may have been written and not yet said
    with Archive.open(path) as archive:
        assert {int(entry.job): entry.digest for entry in archive.entries()} == there
    assert not findings(path)
    return len(there)


def _forked_writer(path: Path, first: int) -> tuple[int, BinaryIO]:
    """A copy of this process that keeps jobs from a number on and says so; no archive is open when it is made."""
    reads, writes = os.pipe()
    process = os.fork()
    if process:
        os.close(writes)
        return process, os.fdopen(reads, "rb")
    try:
        for number in count(first):
            with Archive.open(path, write=True) as archive:
                entry = archive.keep(kept(number))
            os.write(writes, f"kept {number} {entry.digest}\n".encode())
    finally:
        os._exit(3)
