"""Terminals and pipes: tables and colour for people, plain text for pipes, errors on stderr."""

import os
import sys
from collections.abc import Mapping
from typing import Any, NoReturn

from rich.console import Console
from rich.text import Text

from airwarrant.counted import counted
from airwarrant.errors import AirwarrantError, InputError


class _Quiet(Console):
    """A console whose reader may leave early (`| head`): that is no fault and no answer of no."""

    def on_broken_pipe(self) -> None:
        leave_quietly()


def leave_quietly() -> NoReturn:
    """End with status 0 and without flushing stdout again."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    raise SystemExit(0)


def put(text: str) -> None:
    """Write a text that another program reads, as it is, with one newline at its end."""
    try:
        sys.stdout.write(text if text.endswith("\n") else text + "\n")
        sys.stdout.flush()
    except BrokenPipeError:
        leave_quietly()


def out() -> Console:
    """Console for results; a pipe gets plain text at a fixed width."""
    return _Quiet(highlight=False, width=None if sys.stdout.isatty() else 132)


def err() -> Console:
    """Console for progress and complaints."""
    return Console(stderr=True, highlight=False, soft_wrap=True)


def mark_draft(console: Console, market: Mapping[str, Any]) -> None:
    """Say first that a result is a draft, where the local facts of its market are not filled in."""
    if market.get("draft"):
        text = "DRAFT  Local facts of this market are not filled in yet: nobody may rely on this."
        console.print(Text(text, style="bold white on red"))


def complain(error: AirwarrantError) -> None:
    """Print every fault of an error, each with its place first."""
    console = err()
    if not isinstance(error, InputError):
        console.print(Text(f"airwarrant stopped: {error}", style="red"))
        return
    for fault in error.faults:
        text = Text()
        if fault.place:
            text.append(f"{fault.place}: ", style="bold")
        if fault.field:
            text.append(f"{fault.field}: ", style="cyan")
        text.append(fault.sentence())
        text.append(f" [{fault.code}]", style="dim")
        console.print(text)
    console.print(Text(counted(len(error.faults), "fault"), style="red"))
