"""Run the command line in this process, as a terminal would: its exit status and what it wrote."""

import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO, TextIOWrapper
from pathlib import Path
from unittest.mock import patch

from airwarrant.cli.main import main


@dataclass(frozen=True, slots=True)
class Called:
    """What a call came to."""

    status: object
    out: str
    err: str


def call(words: list[str], folder: Path, env: Mapping[str, str] | None = None) -> Called:
    """``airwarrant WORDS…`` in a folder, stdin empty, stdout and stderr as pipes."""
    before = Path.cwd()
    out, err = TextIOWrapper(BytesIO(), "utf-8"), TextIOWrapper(BytesIO(), "utf-8")
    status: object = 0
    os.chdir(folder)
    try:
        with (
            patch.object(sys, "argv", ["airwarrant", *words]),
            patch.object(sys, "stdin", TextIOWrapper(BytesIO(), "utf-8")),
            patch.object(sys, "stdout", out),
            patch.object(sys, "stderr", err),
            patch.dict(os.environ, {"COLUMNS": "80", "NO_COLOR": "1", **(env or {})}),
        ):
            main()
    except SystemExit as end:
        status = 0 if end.code is None else end.code
    finally:
        os.chdir(before)
    return Called(status, _text(out), _text(err))


def completed(*words: str | Path, folder: Path | None = None, **env: str) -> "subprocess.CompletedProcess[str]":
    """The same as a test of a process reads it; whatever the program is given, it never shows a traceback or blames itself.

    A process of its own is started only where the process is what a test is about: pipes that close, signals, locales, imports.
    """
    done = call(list(map(str, words)), folder or Path.cwd(), env)
    assert isinstance(done.status, int)
    assert "Traceback" not in done.err
    assert "fault of its own" not in done.err
    return subprocess.CompletedProcess(words, done.status, done.out, done.err)


def _text(stream: TextIOWrapper) -> str:
    stream.flush()
    held = stream.buffer
    assert isinstance(held, BytesIO)
    return held.getvalue().decode("utf-8")
