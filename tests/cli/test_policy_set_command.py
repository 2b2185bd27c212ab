"""The command `airwarrant policy set` as an owner or a script meets it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from program import completed

DONE, INPUT = 0, 2
ASKED = ("return_budget", "0.15", "--market", "copper-basin", "--from", "2027-01-01", "--why", "Quieter returns")


def _set(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return completed("policy", "set", *words, folder=folder)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    folder = tmp_path_factory.mktemp("owner")
    return folder, _set(folder, *ASKED, "--yes")


def test_without_a_terminal_and_without_yes_nothing_is_written(tmp_path: Path) -> None:
    done = _set(tmp_path, *ASKED)
    assert done.returncode == INPUT
    assert "[not-confirmed]" in done.stderr
    assert "--yes" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_the_sentence_says_old_and_new_whose_and_from_when(
    written: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    _, done = written
    assert (done.returncode, done.stderr) == (DONE, "")
    first = done.stdout.splitlines()[0]
    for part in (
        "Copper Basin",
        "proposal from 2027-01-01",
        "return_budget) is 0.15 in. w.c.",
        "companies/copper-basin",
    ):
        assert part in first
    assert "It was 0.3 in. w.c., set by regions/hot-dry (regions/hot-dry/2026-01-01/limits.toml:" in first
    assert "added    enlarge-filter-grille@house" in done.stdout


def test_a_second_run_changes_no_byte(written: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    folder, _ = written
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    done = _set(folder, *ASKED, "--yes")
    assert (done.returncode, "Nothing is written" in done.stdout) == (DONE, True)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_json_says_the_same_and_writes_only_with_yes(tmp_path: Path) -> None:
    asked = ("draft_limit", "-1", "--row", "water-heater", *ASKED[2:])
    done = _set(tmp_path, *asked, "--json")
    told = json.loads(done.stdout)
    assert (done.returncode, told["written"], list(tmp_path.iterdir())) == (INPUT, False, [])
    assert (told["old"]["value"], told["new"]["value"], told["row"]) == (-2, -1, "water-heater")
    done = _set(tmp_path, *asked, "--json", "--yes")
    assert (done.returncode, json.loads(done.stdout)["written"]) == (DONE, True)
    assert (tmp_path / "policies/companies/copper-basin/2027-01-01/values.toml").is_file()


@pytest.mark.parametrize(("value", "says"), [("-0.15", "every reading fails it"), ("15", "no reading can fail it")])
def test_a_slipped_sign_or_point_is_said(tmp_path: Path, value: str, says: str) -> None:
    done = _set(tmp_path, "return_budget", value, *ASKED[2:])
    assert "[odd-limit]" in done.stdout
    assert says in done.stdout
    assert "[odd-limit]" not in _set(tmp_path, *ASKED).stdout


def test_a_loosened_safety_value_is_refused_with_both_places(tmp_path: Path) -> None:
    done = _set(tmp_path, "co_stop", "90", *ASKED[2:], "--yes")
    assert done.returncode == INPUT
    assert "set at trade/2026-01-01/" in done.stderr
    assert "companies/copper-basin/2027-01-01/values.toml:" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_reader_who_leaves_early_keeps_nothing_from_being_written(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "airwarrant.cli.main", "policy", "set", *ASKED, "--yes"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, cwd=tmp_path) as running:
        assert running.stdout is not None
        running.stdout.close()
    assert (tmp_path / "policies/companies/copper-basin/2027-01-01/values.toml").is_file()
