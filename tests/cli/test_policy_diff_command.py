"""The command `airwarrant policy diff`: its answers, its page, its exit statuses; and what `policy show` adds of jobs."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from airwarrant.cli.policy_diff_tables import print_diff
from airwarrant.desks.policy_diff import compose_sides, policy_diff
from jobs import POLICIES
from program import completed


def _run(*words: str | Path, folder: Path) -> subprocess.CompletedProcess[str]:
    return completed("policy", *words, folder=folder)


def test_a_pipe_gets_one_line_a_point_its_place_first_and_folded_groups_counted(tmp_path: Path) -> None:
    done = _run("diff", "copper-basin", "fog-harbor", folder=tmp_path)
    lines = done.stdout.splitlines()
    assert (done.returncode, done.stderr, lines[0]) == (0, "", "fog-harbor against copper-basin")
    door = next(line for line in lines if " table door_pressure_limit " in line)
    assert door.startswith(
        "regions/marine/2026-01-01/limits.toml:10:8  table door_pressure_limit  In fog-harbor, “Pressure in a room"
    )
    assert (
        "is 5 Pa from 0 cfm, from the marine layer of 2026-01-01; in copper-basin it is 15 Pa from 0 cfm, from the hot-dry"
        in door
    )
    assert door.endswith("So “Pressure in the room with its door shut” fails sooner in fog-harbor.")
    assert lines[-1].startswith("Wording: ")
    assert lines[-1].endswith(", shown with --all")
    assert len(_run("diff", "copper-basin", "fog-harbor", "--all", folder=tmp_path).stdout) > len(done.stdout)


def test_one_side_twice_differs_in_nothing(tmp_path: Path) -> None:
    done = _run("diff", "fog-harbor", "fog-harbor@2026-07-01", folder=tmp_path)
    assert (done.returncode, done.stdout.splitlines()[-1]) == (0, "Nothing differs.")


def test_json_and_the_page_hold_what_the_lines_say(tmp_path: Path) -> None:
    page = tmp_path / "difference.html"
    done = _run("diff", "copper-basin", "juniper-sill", "--json", "--html", page, folder=tmp_path)
    data = json.loads(done.stdout)
    assert (data["a"]["market"], data["b"]["market"]) == ("copper-basin", "juniper-sill")
    limits = next(group for group in data["groups"] if group["group"] == "limits")
    insulation = next(one for one in limits["differences"] if one["name"] == "duct_insulation")
    assert [(p["what"], p["a"], p["b"]) for p in insulation["points"]] == [
        ("row crawl", "6 h ft2 F/Btu", "8 h ft2 F/Btu"),
        ("row garage", "6 h ft2 F/Btu", "8 h ft2 F/Btu"),
    ]
    html = page.read_text(encoding="utf-8")
    assert html.startswith("<!DOCTYPE html>")
    assert "<script" not in html
    assert "written" in done.stderr


def test_a_terminal_gets_a_table_a_group(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "130")
    first, second = compose_sides((POLICIES,), ("copper-basin", None), ("fog-harbor", None))
    print_diff(policy_diff(first, second), show_all=False)
    shown = capsys.readouterr().out
    assert "Limits, tables, figures and checks" in shown
    assert "read by check door-pressure" in shown


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("copper-basin", "fog-habor"), "There is no market `fog-habor`"),
        (("copper-basin", "copper-basin@soon"), "a market, or a market and a day after `@`"),
        (("copper-basin", "copper-basin@2020-01-01"), "holds nothing in force on 2020-01-01"),
        (("copper-basin", "fog-harbor", "--html", "no/such/folder.html"), "Make the folder first"),
    ],
)
def test_a_wrong_call_says_what_is_wrong_and_ends_with_status_2(
    words: tuple[str, ...], told: str, tmp_path: Path
) -> None:
    done = _run("diff", *words, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert told in done.stderr


def test_show_says_the_value_its_source_and_the_jobs_on_file(tmp_path: Path) -> None:
    done = _run("show", "copper-basin", "static_ceiling", folder=tmp_path)
    assert "is 0.7 in. w.c. (the company may change it). Source: invented for the demo." in done.stdout
    assert "read by figures: supply_budget" in done.stdout
    assert done.stdout.splitlines()[-1] == "shipped jobs that depend on it: 1042, 2718, 3390, 4471, 5560"
    data = json.loads(_run("show", "copper-basin", "scope.wide-elbow", "--json", folder=tmp_path).stdout)
    assert data["jobs"] == ["1042"]


def test_show_says_that_jobs_under_another_folder_are_not_known_until_they_are_evaluated(tmp_path: Path) -> None:
    market = (POLICIES / "markets/copper-basin.toml").read_text(encoding="utf-8")
    (tmp_path / "markets").mkdir()
    (tmp_path / "markets/copper-basin.toml").write_text(market, encoding="utf-8")
    asked = ("show", "copper-basin", "scope.wide-elbow", "--policies", tmp_path)
    assert "--jobs evaluates them" in _run(*asked, folder=tmp_path).stdout
    assert "shipped jobs that depend on it: 1042" in _run(*asked, "--jobs", folder=tmp_path).stdout


def test_no_policy_command_imports_what_only_an_evaluation_needs(tmp_path: Path) -> None:
    asked = "import sys; from airwarrant.cli.main import app; sys.argv = {0}\ntry: app()\nexcept SystemExit: pass\n"
    asked += "print(sorted({{'numpy', 'airwarrant.run', 'durable'}} & sys.modules.keys()))"
    for words in (["show", "copper-basin", "static_ceiling"], ["diff", "copper-basin", "fog-harbor"]):
        code = asked.format(["airwarrant", "policy", *words])
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path, check=False)
        assert done.stdout.splitlines()[-1] == "[]", (words, done.stderr)
