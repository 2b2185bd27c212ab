"""`airwarrant policy replay` as it is typed: exit status, what is printed, and going on after it was killed."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from sides_of_a_change import MARKET, STRICTER_DOORS, changed_folder

from airwarrant.made_jobs.made import made

_JOBS = 12


@pytest.fixture(scope="module")
def company(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with jobs, and policies with one value otherwise."""
    folder = tmp_path_factory.mktemp("company")
    (folder / "jobs").mkdir()
    for k in range(1, _JOBS + 1):
        one = made(21, k, MARKET)
        (folder / "jobs" / one.file).write_text(one.text)
    changed_folder(folder / "next", STRICTER_DOORS)
    return folder


def _typed(*words: str) -> list[str]:
    return [
        sys.executable,
        "-c",
        "from airwarrant.cli.start import main; main()",
        "policy",
        "replay",
        MARKET,
        MARKET,
        *words,
    ]


def _called(folder: Path, *words: str, status: int = 0) -> str:
    done = subprocess.run(_typed(*words), cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == status, done.stderr
    return done.stdout


def _counted(text: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(text)
    return data


def test_it_prints_money_lines_the_proof_and_both_trees(company: Path) -> None:
    said = _called(company, "--jobs", "jobs", "--changed", "next", "--processes", "1")
    assert f"{_JOBS} jobs" in said
    assert "Money by market" in said
    assert "cannot change a job" in said
    assert "why " in said


def test_killed_in_the_middle_and_run_again_it_tells_the_same(company: Path) -> None:
    words = ("--jobs", "jobs", "--changed", "next", "--processes", "1", "--everything", "--json")
    whole = _called(company, *words)
    journal = company / "replay.journal"
    running = subprocess.Popen(
        _typed(*words, "--journal", journal.name), cwd=company, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    while not journal.exists() or journal.read_text().count("\n") < 4:
        assert running.poll() is None, "it ended before it could be killed"
        time.sleep(0.02)
    os.kill(running.pid, signal.SIGKILL)
    running.wait()
    finished = journal.read_text().count("\n") - 1
    assert 3 <= finished < _JOBS
    assert _called(company, *words, "--journal", journal.name) == whole
    assert not journal.exists()


def test_what_loosens_safety_ends_with_status_1(company: Path, tmp_path: Path) -> None:
    # A rule of safety's authority that the second policy no longer has, in a trade layer of one's own.
    looser = changed_folder(tmp_path / "looser", STRICTER_DOORS)
    files = sorted((looser / "trade/2026-01-01").glob("rules-*.toml"))
    rule = next(path for path in files if 'authority = "safety"' in path.read_text())
    blocks = rule.read_text().split("\n[[rule]]")
    at = next(n for n, block in enumerate(blocks) if 'authority = "safety"' in block)
    blocks[at] = blocks[at].replace('authority = "safety"', 'authority = "practice"')
    rule.write_text("\n[[rule]]".join(blocks))
    said = _called(company, "--jobs", "jobs", "--changed", str(looser), "--json", "--processes", "1", status=1)
    data = _counted(said)
    assert not data["safe"]
    assert data["loosened"]


def test_a_policy_that_does_not_compose_for_some_of_the_jobs_is_a_wrong_input(tmp_path: Path) -> None:
    # Past the floor that the program pins: the markets of one region have no policy, the others have.
    broken = '[parameter.heat_index_stop]\nvalue = 130\nbasis = { kind = "demo" }'
    changed_folder(tmp_path / "next", broken)
    (tmp_path / "jobs").mkdir()
    for market, count in ((MARKET, 2), ("clay-hollow", 1)):
        for one in (made(21, k, market) for k in range(1, count + 1)):
            (tmp_path / "jobs" / f"{market}-{one.file}").write_text(one.text)
    typed = [*_typed()[:5], "own", "own", "--jobs", "jobs", "--changed", "next", "--processes", "1"]
    done = subprocess.run(typed, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 2, done.stderr
    above, money, _ = done.stdout.partition("Money by market")
    assert money, "the other jobs are told all the same"
    assert "POLICY REFUSED  own in next, 2 jobs (" in above
    assert done.stdout.count("[beyond-floor]") == 1
    done = subprocess.run([*typed, "--json"], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    (group,) = _counted(done.stdout)["not_evaluated"]
    assert (group["jobs"], group["sides"]) == (2, ["own in next"])
    assert "[beyond-floor]" in done.stderr


def test_a_record_that_cannot_be_read_is_no_fault_of_a_policy(company: Path, tmp_path: Path) -> None:
    (tmp_path / "jobs").mkdir()
    for path in sorted((company / "jobs").iterdir())[:2]:
        (tmp_path / "jobs" / path.name).write_text(path.read_text())
    (tmp_path / "jobs" / "bad.toml").write_text('format = "airwarrant/job/1"\nunits = "')
    said = _called(company, "--jobs", str(tmp_path / "jobs"), "--changed", "next", "--processes", "1")
    assert "not evaluated  bad.toml" in said
    assert "REFUSED" not in said


def test_files_that_are_no_job_records_are_left_out_and_named(company: Path, tmp_path: Path) -> None:
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    for path in sorted((company / "jobs").iterdir())[:2]:
        (jobs / path.name).write_text(path.read_text())
    (jobs / "other.toml").write_text('# format = "airwarrant/job/1"\nformat = "airwarrant/test-out/1"\n')
    (jobs / "list.json").write_text('{"jobs": ["airwarrant/job/1"]}')
    # Its format stands far down, and on a line with other things.
    (jobs / "broken.json").write_text('{"notes": "' + "x" * 9000 + '", "format":"airwarrant/job/1", "units": ')
    typed = _typed("--jobs", str(jobs), "--changed", "next", "--processes", "1")
    done = subprocess.run(typed, cwd=company, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("3 jobs, ")
    assert "not evaluated  broken.json" in done.stdout
    assert done.stderr == "2 files are no job records: list.json, other.toml\n"
    for path in (*jobs.glob("job-*"), jobs / "broken.json"):
        path.unlink()
    done = subprocess.run(typed, cwd=company, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "[no-jobs]" in done.stderr


def test_jobs_come_from_one_place(company: Path) -> None:
    done = subprocess.run(_typed(), cwd=company, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "which-jobs" in done.stderr
