"""The command `airwarrant policy`: its answers and exit statuses."""

import json
import subprocess
from pathlib import Path

import pytest

from program import completed

HEAD = '[policy]\ntitle = "Test"\nreview_by = 2030-01-01\n'
RULE = '[[rule]]\nid = "{0}"\ntitle = "T"\nstage = "scope"\n'
MARKET = '[market]\ntitle = "M"\nlayers = ["trade"]\njurisdiction = ""\ncurrency = "demo"\n'

#: What every evaluation reads, so that a policy without it is at fault.
STEERING = "".join(
    f'[parameter.{name}]\nvalue = {value}\nunit = "{unit}"\ntitle = "{name}"\nedit = "company"\nbasis = {{ kind = "demo" }}\n'
    for name, value, unit in (
        ("band_factor", 1, "1"), ("rounds_most", 6, "1"), ("gain_floor", 5, "%"), ("doubt_when", '"before-sale"', "word"),
    )
)  # fmt: skip


def _run(*words: str | Path, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
    return completed("policy", *words, folder=folder)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in (("trade/2026-01-01/a.toml", HEAD + "[parameter.x]\n"), ("markets/m.toml", MARKET)):
        (tmp_path / name).parent.mkdir(parents=True)
        (tmp_path / name).write_text(text)
    return tmp_path


def test_the_shipped_policies_have_no_fault() -> None:
    done = _run("check")
    assert (done.returncode, done.stdout.splitlines()[-1].rpartition(", ")[2]) == (0, "0 faults")


def test_a_fault_is_printed_with_its_place_and_the_exit_status_is_1(folder: Path) -> None:
    done = _run("check", folder)
    assert done.returncode == 1
    assert done.stdout.startswith("trade/2026-01-01/a.toml:4:1: The parameter `x` is incomplete")
    assert done.stdout.splitlines()[-1] == "1 market, 2 files, 1 fault"


def test_the_same_faults_are_printed_as_json(folder: Path) -> None:
    data = json.loads(_run("check", folder, "--json").stdout)
    assert [(f["code"], f["file"], f["line"], f["column"]) for f in data["faults"]] == [
        ("missing-key", "trade/2026-01-01/a.toml", 4, 1)
    ]


def test_one_file_is_checked_in_the_markets_that_take_it(folder: Path) -> None:
    assert _run("check", folder / "trade/2026-01-01/a.toml").stdout.splitlines()[-1] == "1 market, 2 files, 1 fault"


def test_rules_in_a_circle_are_a_fault_of_the_check(folder: Path) -> None:
    one = RULE.format("a") + 'unless = [{ finding = "b" }]\nthen = [{ finding = "a" }]\n'
    two = RULE.format("b") + 'when = [{ finding = "a" }]\nthen = [{ finding = "b" }]\n'
    (folder / "trade/2026-01-01/a.toml").write_text(HEAD + one + two)
    done = _run("check", folder)
    assert (done.returncode, "[cycle]" in done.stdout) == (1, True)


def test_an_overdue_review_is_only_a_warning(folder: Path) -> None:
    (folder / "trade/2026-01-01/a.toml").write_text(HEAD + STEERING)
    done = _run("check", folder, "--on", "2031-01-01")
    assert done.returncode == 0
    assert "warning: trade/2026-01-01/a.toml:3:13" in done.stdout


@pytest.mark.parametrize("words", [("check", "no-such-folder"), ("show", "no-such-market"), ("show",), ("chek",)])
def test_a_wrong_call_has_exit_status_2(words: tuple[str, ...], folder: Path) -> None:
    done = _run(*words, folder=folder)
    assert done.returncode == 2
    assert done.stdout == "" or words == ()
    assert done.stderr


def test_show_tells_where_a_value_comes_from_and_says_a_rule(folder: Path) -> None:
    value = 'value = 1\nunit = "Pa"\ntitle = "X"\nedit = "company"\nbasis = { kind = "demo" }\n'
    rule = RULE.format("r") + 'then = [{ finding = "f" }]\n'
    (folder / "trade/2026-01-01/a.toml").write_text(HEAD + "[parameter.x]\n" + value + rule)
    shown = _run("show", "m", "x", "--policies", folder)
    assert "trade/2026-01-01/a.toml:5:9  trade 2026-01-01  value = 1" in shown.stdout
    assert "For the house: always, then the finding f stands." in _run("show", "m", "r", "--policies", folder).stdout
    assert "trade from 2026-01-01 on, by" in _run("show", "m", "--policies", folder).stdout


def test_a_value_that_is_to_come_is_not_told_as_that_of_a_day(folder: Path) -> None:
    value = '[parameter.x]\nvalue = {}\nunit = "Pa"\ntitle = "X"\nedit = "company"\nbasis = {{ kind = "demo" }}\n'
    later = folder / "trade/2097-01-01"
    later.mkdir()
    (folder / "trade/2026-01-01/a.toml").write_text(HEAD + value.format(1))
    (later / "a.toml").write_text(HEAD.replace("2026-01-01", "2097-01-01") + value.format(2))
    every = _run("show", "m", "x", "--policies", folder).stdout
    assert "with every dated folder, the latest 2097-01-01; --on DAY for one day" in every
    assert "value = 2" in every
    assert "in force" not in every
    one = _run("show", "m", "x", "--policies", folder, "--on", "2026-07-01").stdout
    assert "on 2026-07-01" in one
    assert "value = 2" not in one


def test_words_prints_the_dictionary_in_a_pipe_without_decoration() -> None:
    done = _run("words")
    assert done.returncode == 0
    assert "room word\tuse\tUse of the room\tbedroom | living" in done.stdout
