"""The commands `airwarrant survey`, `check` and `decide` as a person or a script meets them."""

import json
from pathlib import Path

import pytest

from airwarrant.shipped import shipped
from program import completed as _run

SCENARIOS = shipped("scenarios")
DONE, NO, INPUT = 0, 1, 2


# --- survey


def test_a_survey_becomes_a_record_that_check_finds_wanting(tmp_path: Path) -> None:
    done = _run("survey", "--market", "copper-basin", folder=tmp_path)
    assert (done.returncode, done.stderr) == (DONE, "")
    text = done.stdout.replace('id = ""', 'id = "7"', 1).replace('survey = ""', "survey = 2026-07-14", 1)
    (tmp_path / "job-7.toml").write_text(text, encoding="utf-8")
    checked = _run("check", "job-7.toml", folder=tmp_path)
    assert (checked.returncode, checked.stderr) == (NO, "")
    assert "Not good enough to prescribe from yet." in checked.stdout
    assert "trust.measure-first" in checked.stdout


def test_an_untouched_survey_says_what_it_needs_first(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(
        _run("survey", "--market", "fog-harbor", folder=tmp_path).stdout, encoding="utf-8"
    )
    done = _run("check", "job.toml", folder=tmp_path)
    assert done.returncode == NO
    assert "dates.survey" in done.stderr
    assert "2 faults" in done.stderr


def test_a_survey_of_no_market_names_the_markets(tmp_path: Path) -> None:
    done = _run("survey", folder=tmp_path)
    assert done.returncode == INPUT
    assert "copper-basin" in done.stderr
    assert _run("survey", "--market", "coper-basin", folder=tmp_path).returncode == INPUT
    assert _run("survey", "--market", "copper-basin", "--units", "us", folder=tmp_path).returncode == INPUT


def test_a_survey_as_json_holds_what_the_sheet_holds(tmp_path: Path) -> None:
    parts = json.loads(_run("survey", "--market", "copper-basin", "--units", "si", "--json", folder=tmp_path).stdout)
    keys = {key["name"]: key for part in parts for key in part["keys"]}
    assert keys["floor_area"]["unit"] == "m2"
    assert keys["external_static"]["unit"] == "Pa"
    assert "narrow-two-plane" in keys["style"]["words"]


# --- check


def test_a_sound_record_is_good_enough(tmp_path: Path) -> None:
    done = _run("check", "job-1042", folder=tmp_path)
    assert (done.returncode, done.stderr) == (DONE, "")
    assert "Good enough to prescribe from." in done.stdout
    assert "Nothing here replaces local code or licensed practice." in done.stdout


def test_a_faulty_record_is_answered_with_no_and_every_fault(tmp_path: Path) -> None:
    done = _run("check", "job-wrong", folder=tmp_path)
    assert done.returncode == NO
    assert "27 faults" in done.stderr
    data = json.loads(_run("check", "job-wrong", "--json", folder=tmp_path).stdout)
    assert data["good_enough"] is False
    assert len(data["faults"]) == 27


@pytest.mark.parametrize("name", ["nowhere.toml", "job-1043"])
def test_a_record_that_is_not_there_is_a_fault_of_the_call(tmp_path: Path, name: str) -> None:
    assert _run("check", name, folder=tmp_path).returncode == INPUT


def test_check_as_json_says_what_the_table_says(tmp_path: Path) -> None:
    text = (SCENARIOS / "job-1042.toml").read_text(encoding="utf-8").replace('filter = "clean"', 'filter = "loaded"')
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    done = _run("check", "job.toml", "--json", folder=tmp_path)
    assert done.returncode == NO
    data = json.loads(done.stdout)
    assert (data["good_enough"], data["job"], data["market"]) == (False, "1042", "copper-basin")
    assert "trust.dirty-filter" in {wait["rule"] for wait in data["waits"]}


# --- decide


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The result of job 2718, made once."""
    return _run("run", SCENARIOS / "job-2718.toml", "--json", folder=tmp_path_factory.mktemp("result")).stdout


@pytest.fixture
def decided_from(tmp_path: Path, result: str) -> Path:
    """A folder with the record of job 2718 and its result."""
    (tmp_path / "job-2718.toml").write_bytes((SCENARIOS / "job-2718.toml").read_bytes())
    (tmp_path / "result.json").write_text(result, encoding="utf-8")
    return tmp_path


def test_a_decision_is_written_into_the_record_and_the_next_run_follows_it(decided_from: Path) -> None:
    line = "seal-cabinet@house"
    done = _run("decide", "result.json", "--decline", line, "--by", "homeowner", folder=decided_from)
    assert (done.returncode, done.stderr) == (DONE, "wrote job-2718.toml\n")
    assert "left-out" in done.stdout
    again = json.loads(_run("run", "job-2718.toml", "--json", folder=decided_from).stdout)
    assert line not in {one["id"] for one in again["lines"]}
    assert again["choices"] == [{"line": line, "decision": "declined"}]


def test_a_new_record_leaves_the_old_one_alone(decided_from: Path) -> None:
    before = (decided_from / "job-2718.toml").read_bytes()
    words = ("--leave-out", "seal-cabinet@house", "--reason", "new cabinet", "--by", "estimator-1", "--out", "new.toml")
    done = _run("decide", "result.json", *words, "--json", folder=decided_from)
    assert done.returncode == DONE
    assert json.loads(done.stdout)["overrides"][0]["by"] == "estimator-1"
    assert (decided_from / "job-2718.toml").read_bytes() == before
    assert (decided_from / "new.toml").read_bytes().startswith(before.rstrip())


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--decline", "line-platform-return@closet-platform"), "A hazard or the law is not decided away"),
        (("--accept", "seal-ducts@house"), "A hold is cleared, not decided away"),
        (("--decline", "seal-cabinet@hous"), "Did you mean `seal-cabinet@house`?"),
        (("--leave-out", "seal-cabinet@house"), "without --reason and --by"),
        (("--decline", "seal-cabinet@house", "--out", "new.json"), "a name that ends in .toml"),
        (("--decline", "seal-cabinet@house", "--out", "no/such/folder.toml"), "its folder is not there"),
        (("--decline", "seal-cabinet@house", "--record", "elsewhere.toml"), "a job record"),
        ((), "Give --accept, --decline or --leave-out"),
    ],
)
def test_a_refused_decision_writes_nothing(decided_from: Path, words: tuple[str, ...], said: str) -> None:
    before = {path.name: path.read_bytes() for path in decided_from.iterdir()}
    done = _run("decide", "result.json", *words, folder=decided_from)
    assert (done.returncode, done.stdout) == (INPUT, "")
    assert said in " ".join(done.stderr.split())
    assert {path.name: path.read_bytes() for path in decided_from.iterdir()} == before


def test_a_record_that_is_not_beside_its_result_is_asked_for(decided_from: Path) -> None:
    (decided_from / "job-2718.toml").rename(decided_from / "moved.toml")
    done = _run("decide", "result.json", "--decline", "seal-cabinet@house", folder=decided_from)
    assert done.returncode == INPUT
    assert "Give --record" in done.stderr
    words = ("--decline", "seal-cabinet@house", "--record", "moved.toml")
    assert _run("decide", "result.json", *words, folder=decided_from).returncode == DONE
