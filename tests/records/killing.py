"""Writers of an archive killed at random moments: what was said to be kept must be there, and the archive whole."""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from small_archive import findings

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


def kill_some(path: Path, kills: int, seed: int) -> tuple[int, int]:
    """Kill writers at random moments; return how many jobs were said to be kept and how many are.

    Raises
    ------
    AssertionError
        If one that was said to be kept is not there, or the archive is not whole.
    """
    moments = random.Random(seed)
    there: dict[int, str] = {}
    for _ in range(kills):
        process = writer(path, max(there, default=0) + 1)
        assert process.stdout is not None
        # The first line says that it is up and writing; the kill falls somewhere into what it does then.
        first = process.stdout.readline()
        time.sleep(moments.uniform(0.0, 0.06))
        process.send_signal(signal.SIGKILL)
        rest = process.stdout.read()
        process.wait()
        process.stdout.close()
        there |= said(first + rest)
        with Archive.open(path) as archive:
            kept = {int(entry.job): entry.digest for entry in archive.entries()}
        assert there.items() <= kept.items(), sorted(there.items() - kept.items())
        there = kept  # one may have been written and not yet said
    assert not findings(path)
    return len(there), len(there)
