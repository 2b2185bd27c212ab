"""`airwarrant make-jobs` on the command line."""

import json
from collections import Counter
from pathlib import Path

import pytest

from airwarrant.records.archive import Archive
from airwarrant.records.kept import RUN, TEST_OUT
from program import call


def test_what_it_prints_is_what_stands_beside_the_jobs(tmp_path: Path) -> None:
    done = call(["make-jobs", "12", "--seed", "4", "--out", "jobs", "--json"], tmp_path)
    assert done.status == 0, done.err
    assert "wrote 12 jobs and planted/causes.json into jobs" in done.err
    told = json.loads(done.out)
    causes = json.loads((tmp_path / "jobs" / "planted" / "causes.json").read_text())["jobs"]
    planted = Counter(cause["cause"] for one in causes for cause in one["causes"])
    healthy = sum(one["healthy"] for one in causes)
    assert told == {"jobs": 12, "seed": 4, "planted": dict(sorted({**planted, "healthy": healthy}.items()))}
    assert len(list((tmp_path / "jobs").glob("job-made-4-*.toml"))) == 12


def test_a_made_job_runs_like_any_other(tmp_path: Path) -> None:
    assert call(["make-jobs", "1", "--market", "fog-harbor", "--out", "jobs"], tmp_path).status == 0
    run = call(["run", "jobs/job-made-1-1.toml", "--json"], tmp_path)
    assert run.status == 0, run.err
    result = json.loads(run.out)
    assert (result["demo"], result["market"]["name"]) == (True, "fog-harbor")


def test_kept_jobs_and_test_outs_are_entries_of_the_archive(tmp_path: Path) -> None:
    done = call(["make-jobs", "3", "--seed", "9", "--out", "jobs", "--archive", "kept.sqlite"], tmp_path)
    assert done.status == 0, done.err
    with Archive.open(tmp_path / "kept.sqlite") as opened:
        kinds = Counter(entry.kind for entry in opened.entries())
        built = len(list((tmp_path / "jobs" / "test-outs").glob("*.toml")))
        assert kinds == {RUN: 3, **({TEST_OUT: built} if built else {})}
        assert all(run.result() is not None for run in opened.runs())
        assert all(opened.acceptance(entry) is not None for entry in opened.entries(kind=TEST_OUT))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["0", "--out", "jobs"], "0 jobs"),
        (["2", "--out", "jobs", "--seed", "-1"], "--seed -1"),
        (["2", "--out", "jobs", "--market", "fog-harbr"], "there is no market `fog-harbr`"),
        (["2", "--out", "there/jobs"], "a file stands where a folder must be"),
    ],
)
def test_a_wrong_call_is_told(words: list[str], says: str, tmp_path: Path) -> None:
    (tmp_path / "there").write_text("a file")
    wrong = call(["make-jobs", *words], tmp_path)
    assert wrong.status == 2
    assert says.lower() in wrong.err.lower()
