"""Every command, option, argument and exit status stands in the docs, each with an example that the program takes.

The commands are read from the command line itself: one that is added must be documented before this passes.
`python -m airwarrant.write_commands` writes the page and the README's table; examples stand in help and in ``cli/examples.txt``.
"""

import ast
import inspect
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

import airwarrant.errors
from airwarrant.errors import AirwarrantError
from airwarrant.write_commands import EXIT_STATUS, Documented, commands, examples, in_readme, leaves, page, words_of
from jobs import POLICIES, SCENARIOS
from program import call

README = (POLICIES.parent / "README.md").read_text("utf-8")
GUIDES = sorted(POLICIES.glob("*.md"))
COMMANDS = {one.path: one for one in commands()}
LEAVES = {path: (command, context) for path, command, context in leaves()}
EXAMPLES = [(one, line) for one in COMMANDS.values() for line in one.examples]
#: What takes long, or has a test of its own that runs it in a company's folder: its words are still given to the parser.
COSTLY = re.compile(
    r"--cases|--on 2027|--out papers$|--jobs|--unverified|--pdf\b|policy set|policy cases|policy replay|make-jobs"
    r"|audit verify|audit erase 1042|--since|--behind"
)


def test_the_page_of_commands_is_as_the_command_line_says() -> None:
    assert (POLICIES / "COMMANDS.md").read_text("utf-8") == page(), "python -m airwarrant.write_commands"


def test_the_table_of_the_readme_is_as_the_command_line_says() -> None:
    assert in_readme(README) == README, "python -m airwarrant.write_commands"
    for path in COMMANDS:
        assert f"| `{' '.join(path)}` |" in README


@pytest.mark.parametrize("one", COMMANDS.values(), ids=lambda one: "-".join(one.path[1:]))
def test_a_command_and_each_thing_it_takes_is_explained_and_shown_in_an_example(one: Documented) -> None:
    command, _ = LEAVES[one.path]
    assert one.says.endswith("."), "a command is explained in sentences"
    assert [line for line in str(command.help).splitlines() if "Example: airwarrant " in line], (
        "its help has an example"
    )
    for parameter in one.parameters:
        assert parameter.means.endswith("."), parameter.names
    shown = {name for line in one.examples for name in _shown(one, line)}
    lacking = [each.name for each in command.params if each.name != "help" and each.name not in shown]
    assert not lacking, f"cli/examples.txt: an example of {' '.join(one.path)} with {', '.join(lacking)}"


def test_every_further_example_is_of_a_command() -> None:
    assert sorted(examples()) == sorted(line for line in examples() if line in [one for _, one in EXAMPLES])


@pytest.mark.parametrize(("one", "line"), EXAMPLES, ids=[" ".join(words_of(line)[1:])[:60] for _, line in EXAMPLES])
def test_an_example_is_taken_by_the_program(one: Documented, line: str, folder: Path, tmp_path: Path) -> None:
    _given(one, line)
    if COSTLY.search(line):
        return
    shutil.copytree(folder, tmp_path, dirs_exist_ok=True)
    came = call(words_of(line)[1:], tmp_path)
    assert came.status == 0, came.err


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as the page says it: the shipped policies and scenarios, results of one job, and an archive that keeps it."""
    made = tmp_path_factory.mktemp("examples")
    shutil.copytree(POLICIES, made / "policies")
    shutil.copytree(SCENARIOS, made / "scenarios")
    shutil.copy(SCENARIOS / "job-1042.toml", made)
    shutil.copy(SCENARIOS / "test-out-1042.toml", made)
    for line in (
        "run job-1042 --out papers --no-pdf",
        "run job-1042 --out . --no-pdf --keep",
        "accept result-1042.json test-out-1042.toml --keep",
        "run job-1042 --keep",
        "audit export --out jobs.jsonl",
    ):
        assert call(line.split(), made).status == 0
    for name in ("jobs", "demo"):
        shutil.copy(made / "airwarrant.sqlite", made / f"{name}.sqlite")
    shutil.copy(made / "jobs.jsonl", made / "copy.jsonl")
    return made


def test_every_exit_status_is_in_the_readme_and_on_the_page() -> None:
    classes = [held for _, held in inspect.getmembers(airwarrant.errors, inspect.isclass)]
    said = {one.exit_status for one in classes if issubclass(one, AirwarrantError)}
    assert {0, 1, *said} <= set(EXIT_STATUS)
    sentence = README[README.index("Exit status:") :].split("\n\n")[0]
    for status in (0, 1, *said):
        assert re.search(rf"\b{status} \w", sentence), status
    assert EXIT_STATUS.keys() == {int(found) for found in re.findall(r"^\| (\d+) \|", page(), re.MULTILINE)}


def test_the_readme_names_every_command_without_json() -> None:
    without = [one.path for one in COMMANDS.values() if not any("--json" in each.names for each in one.parameters)]
    (said,) = re.findall(r"All but (.+?) take `--json`", README)
    assert re.findall(r"`([^`]+)`", said) == [" ".join(path[1:]) for path in without]


def test_a_command_that_may_answer_no_says_when() -> None:
    for path, (command, _) in LEAVES.items():
        source = inspect.getsource(inspect.getmodule(inspect.unwrap(command.callback)))  # type: ignore[arg-type]
        no = [
            node
            for node in ast.walk(ast.parse(source))
            if isinstance(node, ast.Call) and ast.unparse(node) == "typer.Exit(1)"
        ]
        if (
            no
            and len([each for each in LEAVES.values() if each[0].callback.__module__ == command.callback.__module__])
            == 1
        ):
            assert re.search(r"\bexit (status )?1\b", COMMANDS[path].says, re.IGNORECASE), path


def test_every_guide_is_linked_from_the_readme_or_from_a_page_it_links() -> None:
    linked = set(re.findall(r"\]\((policies/[\w.]+\.md)\)", README))
    for guide in GUIDES:
        if f"policies/{guide.name}" in linked:
            linked |= {f"policies/{name}" for name in re.findall(r"\]\(([\w]+\.md)\)", guide.read_text("utf-8"))}
    assert {f"policies/{guide.name}" for guide in GUIDES} <= linked | {"policies/README.md"}


def test_no_page_speaks_of_a_command_or_an_option_that_is_not_there() -> None:
    options = {name for one in COMMANDS.values() for each in one.parameters for name in _options(" ".join(each.names))}
    first = {path[1] for path in COMMANDS}
    for file in (POLICIES.parent / "README.md", *GUIDES):
        text = file.read_text("utf-8")
        blocks = "\n".join(re.findall(r"^```\w*\n(.*?)^```", text, re.MULTILINE | re.DOTALL))
        for typed in re.findall(r"`(airwarrant [^`\n]+)`", text) + re.findall(
            r"^(?:\$ )?(airwarrant .+)$", blocks, re.MULTILINE
        ):
            words = typed.split()
            if words[1] not in ("COMMAND", "…"):
                assert words[1] in first, f"{file.name}: {typed}"
                assert set(_options(typed.partition(" # ")[0])) <= {*options, "--help"}, f"{file.name}: {typed}"


def _options(text: str) -> list[str]:
    return re.findall(r"(?<!\S)--[a-z][a-z-]*", text)


def _given(one: Documented, line: str) -> dict[str, Any]:
    """What the parser of a command makes of an example; it raises where it takes none."""
    command, context = LEAVES[one.path]
    words = words_of(line)[len(one.path) :]
    return dict(command.make_context(one.path[-1], words, parent=context.parent).params)


def _shown(one: Documented, line: str) -> set[str]:
    """Names of what an example gives a value to."""
    command, _ = LEAVES[one.path]
    typed = {word.partition("=")[0] for word in words_of(line)}
    given = _given(one, line)
    return {
        each.name
        for each in command.params
        if (
            typed & {*each.opts, *each.secondary_opts}
            if each.param_type_name == "option"
            else given[each.name] not in (None, "", ())
        )
    }
