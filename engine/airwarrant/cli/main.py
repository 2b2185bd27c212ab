"""The command `airwarrant`: its groups, and the one place that turns an error into words and an exit status."""

import os
import sys
from io import TextIOWrapper

import typer

from airwarrant.cli.console import complain
from airwarrant.cli.lazy import Command, lazy_group
from airwarrant.cli.wrong_call import is_help, wrong_call
from airwarrant.errors import AirwarrantError, CallError, Fault

_COMMANDS = {
    "run": Command("airwarrant.cli.run:run"),
    "why": Command("airwarrant.cli.why:why"),
    "why-not": Command("airwarrant.cli.why_not:why_not"),
    "near": Command("airwarrant.cli.near:near"),
    "survey": Command("airwarrant.cli.survey:survey"),
    "check": Command("airwarrant.cli.check:check"),
    "decide": Command("airwarrant.cli.decide:decide"),
    "papers": Command("airwarrant.cli.papers:papers"),
    "accept": Command("airwarrant.cli.accept:accept"),
    "calc": Command("airwarrant.cli.calc:calc"),
    "policy": Command("airwarrant.cli.policy:policy"),
    "audit": Command("airwarrant.cli.audit:audit"),
    "season": Command("airwarrant.cli.season:season"),
    "make-jobs": Command("airwarrant.cli.make_jobs:make_jobs"),
}
app = typer.Typer(
    name="airwarrant",
    cls=lazy_group(_COMMANDS),
    help="Decides and explains the air-side work on a home air-conditioner replacement.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)


@app.callback()
def _whole() -> None:
    """Decides and explains the air-side work on a home air-conditioner replacement."""


def main() -> None:
    """Run the command line; exit 0 done, 1 the answer is no, 2 the input or call is wrong, 3 a fault of the program."""
    _ready_streams()
    try:
        status = app(prog_name="airwarrant", standalone_mode=False)
    except AirwarrantError as error:
        complain(error)
        sys.exit(error.exit_status)
    except OSError as error:  # every file is read and written where its own fault is told: this is the output
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nothing may be flushed again at exit
        complain(CallError([Fault("cannot-write", f"the output: {error.strerror}", "an output that can be written")]))
        sys.exit(CallError.exit_status)
    except (KeyboardInterrupt, typer.Abort):
        sys.stderr.write("stopped\n")
        sys.exit(130)
    except Exception as error:  # the last line of defence: a user gets words, never a traceback
        if is_help(error):
            sys.stderr.write(f"{error}\n")
            sys.exit(CallError.exit_status)
        if (wrong := wrong_call(error)) is not None:
            complain(wrong)
            sys.exit(wrong.exit_status)
        if os.environ.get("AIRWARRANT_TRACEBACK"):
            raise
        sys.stderr.write(
            f"airwarrant met a fault of its own: {type(error).__name__}: {error}\n"
            "What it had begun to write may be incomplete. Please report it with the output of AIRWARRANT_TRACEBACK=1 airwarrant …\n"
        )
        sys.exit(3)
    sys.exit(status if isinstance(status, int) else 0)


def _ready_streams() -> None:
    """UTF-8 into files and pipes whatever the locale; a terminal gets a question mark for what it cannot show."""
    if sys.stdout is None:  # closed by the caller
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115  lives as long as the process
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(encoding=None if stream.isatty() else "utf-8", errors="replace")


if __name__ == "__main__":
    main()
