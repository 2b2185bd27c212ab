"""`airwarrant policy check --cases` and `--unverified`: answers and exit statuses."""

import json
import subprocess
from pathlib import Path
from shutil import copytree, rmtree

import pytest

from jobs import POLICIES
from program import completed

CASES = '[cases]\ntitle = "T"\nfrom = "small-house"\n[[case]]\ntitle = "{0}"\nexpect = [{{ finding = "{1}"{2} }}]\n'


def _check(*words: str | Path) -> subprocess.CompletedProcess[str]:
    return completed("policy", "check", *words)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    copy = tmp_path / "policies"
    copytree(POLICIES, copy)
    for path in (copy / "cases").glob("*.toml"):
        path.unlink()
    rmtree(copy / "cases/limits")
    return copy


def test_cases_that_hold_exit_0_and_say_what_they_cover(folder: Path) -> None:
    (folder / "cases/a.toml").write_text(CASES.format("fine", "healthy", ""))
    done = _check(folder, "--cases")
    assert done.returncode == 0
    lines = done.stdout.splitlines()
    assert lines[-1] == "1 case, 0 failed"
    assert any(line.startswith("rules that fire: ") for line in lines)
    assert any(line.startswith("uncovered: trade/2026-01-01/rules-guard.toml:") for line in lines)
    assert "1 case run" in done.stderr


def test_a_case_that_fails_exits_1_with_its_place(folder: Path) -> None:
    (folder / "cases/a.toml").write_text(CASES.format("wrong", "healthy", ", absent = true"))
    done = _check(folder, "--cases")
    assert done.returncode == 1
    assert "cases/a.toml:6:11: wrong: expected no finding healthy at house; it is there by find.healthy" in done.stdout


def test_a_fault_of_a_case_exits_1_with_its_place(folder: Path) -> None:
    (folder / "cases/a.toml").write_text(CASES.format("lost", "helthy", ""))
    done = _check(folder, "--cases")
    assert (done.returncode, "cases/a.toml:6:11: There is no finding `helthy`" in done.stdout) == (1, True)


def test_one_file_and_one_market_are_run_alone_and_say_nothing_of_coverage(folder: Path) -> None:
    (folder / "cases/a.toml").write_text(CASES.format("fine", "healthy", ""))
    (folder / "cases/b.toml").write_text(CASES.format("wrong", "healthy", ", absent = true"))
    one = _check(folder / "cases/a.toml", "--cases")
    assert (one.returncode, one.stdout.splitlines()[-1]) == (0, "1 case, 0 failed")
    assert "rules that fire" not in one.stdout
    none = _check(folder, "--cases", "--market", "fog-harbor")
    assert (none.returncode, none.stdout.splitlines()[-1]) == (0, "0 cases, 0 failed")


def test_a_contradiction_is_a_fault_of_the_check_with_both_places_and_an_example(folder: Path) -> None:
    path = folder / "trade/2026-01-01/rules-scope.toml"
    text = path.read_text()
    asks = text.index('id = "scope.wide-elbow"')
    rule = (
        '\n[[rule]]\nid = "scope.no-elbow-at-all"\ntitle = "No elbow"\nstage = "scope"\neach = "elbow"\n'
        'when = [{ finding = "elbow-choking" }]\nthen = [{ decline = "task:replace-elbow", because = "no" }]\n'
        'edit = "company"\nbasis = { kind = "demo" }\n'
    )
    path.write_text(text + rule)
    done = _check(folder)
    assert done.returncode == 1
    line = text[:asks].count("\n")
    assert f"(trade/2026-01-01/rules-scope.toml:{line}:1)" in done.stdout
    assert 'elbow-1.style = "narrow-two-plane"; check elbow-leg of elbow-1 says fail' in done.stdout
    assert "[contradiction]" in done.stdout


def test_what_is_not_verified_is_listed_and_as_json(folder: Path) -> None:
    done = _check(folder, "--unverified", "--market", "copper-basin")
    assert done.returncode == 0
    assert "parameter flame_distance: unconfirmed, adopted law" in done.stdout
    data = json.loads(_check(folder, "--unverified", "--json").stdout)
    assert {"flame_distance", "leakage_trigger"} <= {one["name"] for one in data["unverified"]}
