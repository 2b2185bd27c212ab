"""The command `airwarrant accept` as a person or a script meets it."""

import json
from pathlib import Path

import pytest

from airwarrant.shipped import shipped
from program import completed as _run

SCENARIOS = shipped("scenarios")
DONE, NO, INPUT = 0, 1, 2


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the result of the demo job and what it was made from beside it."""
    made = tmp_path_factory.mktemp("accept")
    assert _run("run", SCENARIOS / "job-1042.toml", "--out", ".", "--no-pdf", folder=made).returncode == DONE
    return made


def test_a_pass_is_done_and_writes_the_paper(folder: Path) -> None:
    done = _run(
        "accept", "result-1042.json", SCENARIOS / "test-out-1042.toml", "--out", "papers", "--no-pdf", folder=folder
    )
    assert done.returncode == DONE
    assert "PASS" in done.stdout
    assert {one.name for one in (folder / "papers").iterdir()} == {"acceptance-1042.json", "accepted-1042.html"}
    assert json.loads((folder / "papers" / "acceptance-1042.json").read_text())["answer"]["answer"] == "pass"


def test_a_fail_exits_with_one_and_says_where_to_look(folder: Path) -> None:
    done = _run("accept", "result-1042.json", SCENARIOS / "test-out-1042-tight.toml", folder=folder)
    assert done.returncode == NO
    assert "FAIL" in done.stdout
    assert "Look along the return" in " ".join(done.stdout.split())
    as_json = _run("accept", "result-1042.json", SCENARIOS / "test-out-1042-tight.toml", "--json", folder=folder)
    assert as_json.returncode == NO
    assert json.loads(as_json.stdout)["format"] == "airwarrant/acceptance/1"


def test_on_condition_is_answered(folder: Path) -> None:
    text = (SCENARIOS / "test-out-1042.toml").read_text().replace('filter = "clean"', 'filter = "loaded"')
    (folder / "used-filter.toml").write_text(text)
    done = _run("accept", "result-1042.json", "used-filter.toml", "--units", "si", folder=folder)
    assert done.returncode == DONE
    assert "CONDITIONAL" in done.stdout
    assert "142.0 Pa" in done.stdout  # 0.57 in. w.c. of 249.089 Pa, NIST SP 811 appendix B


def test_a_blank_is_written_and_a_call_without_a_test_out_says_how(folder: Path) -> None:
    blank = _run("accept", "result-1042.json", "--blank", folder=folder)
    assert blank.returncode == DONE
    (folder / "blank.toml").write_text(blank.stdout)
    done = _run("accept", "result-1042.json", "blank.toml", folder=folder)
    assert done.returncode == INPUT
    assert "visit[0].date" in done.stderr
    none = _run("accept", "result-1042.json", folder=folder)
    assert none.returncode == INPUT
    assert "--blank" in none.stderr


def test_a_result_by_itself_says_what_is_missing(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "result.json").write_bytes((folder / "result-1042.json").read_bytes())
    done = _run("accept", "result.json", SCENARIOS / "test-out-1042.toml", folder=tmp_path)
    assert done.returncode == INPUT
    assert "result.inputs.json" in done.stderr
    gone = _run("accept", "result.json", "nowhere.toml", folder=tmp_path)
    assert gone.returncode == INPUT
    assert "nowhere.toml" in gone.stderr
