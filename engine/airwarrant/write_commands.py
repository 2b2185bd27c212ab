"""Write the page of all commands, and their table in the README, anew: ``python -m airwarrant.write_commands``.

Both are read from the command line itself: a command that is added stands in them at the next writing.
"""

import re
import shlex
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import typer

from airwarrant.cli.main import app
from airwarrant.shipped import shipped

#: What each exit status means.
EXIT_STATUS = {
    0: "done; a stop or a hold of a job is an answer too",
    1: "the answer is no: a check found faults, a test-out failed",
    2: "the input or the call is wrong; what is wrong stands on stderr",
    3: "a fault of the program, to be reported",
    130: "stopped by the keyboard",
}
_HEAD = """# Every command of airwarrant

Written by `python -m airwarrant.write_commands`; do not edit. `airwarrant COMMAND --help` says the same in a terminal, and every
command takes `--help`. What an error means stands in [ERRORS.md](ERRORS.md), what `policy check` finds in [CHECKS.md](CHECKS.md).

The examples hold in a folder with `scenarios/`; `result-1042.json` is written by `airwarrant run job-1042 --out .`, and
`papers/result-1042.json` by `airwarrant run job-1042 --out papers`.
"""
_VALUES = {
    "accept": "line",
    "by": "name",
    "decline": "line",
    "html": "file",
    "leave-out": "line",
    "only": "paper",
    "out": "path",
    "policies": "folder",
    "record": "file",
    "why": "reason",
}
_TABLE = re.compile(r"(<!-- commands:[^>]*-->\n).*?(<!-- end of commands -->)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Parameter:
    """An argument or option of a command.

    Attributes
    ----------
    names : tuple of str
        As it is typed: ``JOB``, or ``--out DIR`` and its other names.
    means : str
        Its help.
    """

    names: tuple[str, ...]
    means: str


@dataclass(frozen=True, slots=True)
class Documented:
    """A command as it stands in the page.

    Attributes
    ----------
    path : tuple of str
        ``("airwarrant", "policy", "show")``.
    says : str
        Its help, without the example.
    examples : tuple of str
        What may be typed, with a remark after ``#``.
    parameters : tuple of Parameter
    """

    path: tuple[str, ...]
    says: str
    examples: tuple[str, ...]
    parameters: tuple[Parameter, ...]


def main() -> None:
    """Write the page and the table of the README."""
    (shipped("policies") / "COMMANDS.md").write_text(page(), encoding="utf-8")
    readme = shipped("policies").parent / "README.md"
    readme.write_text(in_readme(readme.read_text("utf-8")), encoding="utf-8")


def page() -> str:
    """The page of all commands."""
    found = commands()
    parts = [_HEAD, *("\n".join(_section(one)) for one in found), _statuses()]
    return "\n".join(parts)


def in_readme(text: str) -> str:
    """Return the README with its table of commands as it should be."""
    rows = "".join(f"| `{' '.join(one.path)}` | {_first(one.says)} |\n" for one in commands())
    return _TABLE.sub(lambda found: f"{found[1]}| command | does |\n|---|---|\n{rows}{found[2]}", text)


def commands() -> tuple[Documented, ...]:
    """Every command of the command line, those of groups among them, in the order of its help."""
    held = tuple(leaves())
    paths = [path for path, _, _ in held]
    more = [(_path(line, paths), line) for line in examples()]
    found = []
    for path, command, _ in held:
        lines = [line.strip() for line in _help(command).splitlines()]
        shown = [line.removeprefix("Example:").strip() for line in lines if line.startswith("Example:")]
        said = " ".join(line for line in lines if line and not line.startswith("Example:"))
        own = [line for of, line in more if of == path]
        found.append(Documented(path, said, (*shown, *own), tuple(_parameters(command))))
    return tuple(found)


def leaves() -> Iterator[tuple[tuple[str, ...], Any, Any]]:
    """Yield the path, the command and the context of its group, of every command of the command line."""
    root: Any = typer.main.get_command(app)
    yield from _leaves(root, root.make_context("airwarrant", ["run"], resilient_parsing=True), ("airwarrant",))


def examples() -> tuple[str, ...]:
    """Further examples: lines of ``cli/examples.txt``."""
    lines = (Path(__file__).parent / "cli" / "examples.txt").read_text("utf-8").splitlines()
    return tuple(line for line in lines if line.startswith("airwarrant "))


def words_of(example: str) -> list[str]:
    """What is typed in an example, without its remark and what it is redirected into."""
    words = shlex.split(example, comments=True)
    return words[: words.index(">")] if ">" in words else words


def _leaves(command: Any, context: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any, Any]]:
    if not hasattr(command, "list_commands"):
        yield path, command, context
        return
    for name in command.list_commands(context):
        inner = command.get_command(context, name)
        if not inner.hidden:
            below = type(context)(inner, info_name=name, parent=context)
            yield from _leaves(inner, below, (*path, name))


def _path(example: str, paths: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """The command that an example is of."""
    words = words_of(example)
    return max((path for path in paths if words[: len(path)] == list(path)), key=len, default=())


def _help(command: Any) -> str:
    return str(command.help or "").partition("\f")[0]


def _parameters(command: Any) -> Iterator[Parameter]:
    for one in command.params:
        if getattr(one, "hidden", False) or one.name == "help":
            continue
        name = str(one.metavar or one.name).upper().replace("_", "-")
        remarks = [str(getattr(one, "help", "") or "")]
        if one.param_type_name == "argument":
            names: tuple[str, ...] = (name,)
        else:
            value = "" if getattr(one, "is_flag", False) else f" {_placeholder(one)}"
            names = tuple(f"{opt}{value}" for opt in (*one.opts, *one.secondary_opts))
            if isinstance(one.default, str | int | float) and not isinstance(one.default, bool) and one.default != "":
                remarks.append(f"Else `{one.default}`.")
        if one.required:
            remarks.append("Must be given.")
        yield Parameter(names, " ".join(filter(None, remarks)))


def _placeholder(option: Any) -> str:
    """What stands for the value of an option: the last word of its longest name, in capitals."""
    name = max(option.opts, key=len).removeprefix("--")
    return str(option.metavar or _VALUES.get(name, name)).upper()


def _first(said: str) -> str:
    """The first sentence, for a row of a table."""
    return re.split(r"(?<=\.)\s", said)[0].replace("|", "\\|")


def _section(one: Documented) -> Iterator[str]:
    yield f"## `{' '.join(one.path)}`\n\n{one.says}\n"
    if one.examples:
        yield "\n".join(("```sh", *one.examples, "```\n"))
    if one.parameters:
        yield "| typed | means |\n|---|---|"
        for parameter in one.parameters:
            names = ", ".join(f"`{name}`" for name in parameter.names)
            yield f"| {names} | {parameter.means.replace('|', chr(92) + '|')} |"
        yield ""


def _statuses() -> str:
    rows: Sequence[str] = [f"| {status} | {means} |" for status, means in EXIT_STATUS.items()]
    return "\n".join(("## Exit status\n\n| status | means |\n|---|---|", *rows, ""))


if __name__ == "__main__":
    main()
