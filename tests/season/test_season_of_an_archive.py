"""The owner's figures of a small archive: what is read from a kept job, and the command over it."""

import json
from datetime import date
from pathlib import Path

import pytest

from airwarrant.cli.made_archive import MadeArchive
from airwarrant.made_jobs.made import made
from airwarrant.records.archive import Archive
from airwarrant.records.kept import Kept, PolicyFiles
from airwarrant.season.job_figures import figures_of
from airwarrant.season.kept_jobs import kept_jobs, past_review
from airwarrant.shipped import shipped
from jobs import SCENARIOS
from program import call

#: Jobs of seed 9: enough to hold a test-out, several markets and a healthy house.
COUNT = 5


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("kept") / "jobs.sqlite"
    with MadeArchive(path, (shipped("policies"),)) as kept:
        for k in range(1, COUNT + 1):
            kept.keep(made(9, k))
    return path


def test_the_figures_of_a_shipped_job_are_those_of_its_files() -> None:
    from airwarrant.desks.acceptance import acceptance
    from airwarrant.job.reading_records import job_document, record_of
    from airwarrant.job.test_out import with_test_out
    from airwarrant.session import Session

    document = job_document((SCENARIOS / "job-1042.toml").read_bytes(), "job-1042.toml")
    built = with_test_out(document, (SCENARIOS / "test-out-1042.toml").read_bytes(), "test-out-1042.toml")
    with Session(shipped("policies")) as session:
        result = session.evaluate(record_of(document))
        found = figures_of(result, [acceptance(result, session.evaluator(built).run(built))])
    # All numbers stand in the two files: 0.86 and 0.57 in. w.c., 1,013 and 1,296 cfm, 898 and 1,248, 190 and 61; 14 and 23 July.
    assert found.before == {"external_static": 0.86, "airflow": 1013.0, "register_flow": 898.0, "leakage_25": 190.0}
    assert found.after == {"external_static": 0.57, "airflow": 1296.0, "register_flow": 1248.0, "leakage_25": 61.0}
    assert (found.day, found.days, found.tons) == (date(2026, 7, 14), 9, (3.5, 3.5))
    assert found.measured_first
    assert not found.no_work
    assert "scope.wide-elbow" in found.fired
    assert "scope.bedroom-return" not in found.fired
    close = {one["id"] for one in result["verdicts"] if one["word"] == "close"}
    kept_off: dict[str, set[str]] = {}
    for one in result["trace"]["not_fired"]:
        if len(one.get("failed", ())) == 1:
            reads = [read.get("verdict") for clause in one["failed"] for read in clause.get("reads", ())]
            kept_off.setdefault(one["rule"], set()).update(reads)
    assert found.near
    assert all(rule not in found.fired and rule in kept_off for rule in found.near)
    assert all(close & kept_off[rule] for rule in found.near)
    assert sum(line.amount or 0 for line in found.lines if line.task == "replace-elbow") == 1760
    assert {one.field for one in found.missed} >= {"external_static", "airflow", "register_flow", "leakage_25", "flow"}


def test_every_kept_job_is_counted_and_dates_and_market_choose(archive: Path) -> None:
    records = [made(9, k) for k in range(1, COUNT + 1)]
    with Archive.open(archive) as opened:
        jobs = list(kept_jobs(opened))
        assert [one.job for one in jobs] == [one.id for one in records]
        assert [one.market for one in jobs] == [one.market for one in records]
        assert [bool(one.answers) for one in jobs] == [bool(one.test_out) for one in records]
        assert any(one.answers for one in jobs)
        for one in jobs:
            chosen = list(kept_jobs(opened, first=one.day, last=one.day, market=one.market))
            assert one.job in {other.job for other in chosen}
            assert all((other.day, other.market) == (one.day, one.market) for other in chosen)


def test_a_job_kept_again_was_tested_out_all_the_same(tmp_path: Path) -> None:
    path = tmp_path / "again.sqlite"
    tested = next(job for k in range(1, 30) if (job := made(9, k)).test_out)
    with MadeArchive(path, (shipped("policies"),)) as kept:
        kept.keep(tested)
    with Archive.open(path, write=True) as opened:
        run = next(opened.runs())
        policy = PolicyFiles(run.entry.policy_digest, opened.policy_texts(run.entry))
        opened.keep(
            Kept(
                run.record(),
                opened.record_text(run.entry),
                run.entry.market,
                policy,
                "2026-11-26T00:00:00Z",
                run.result(),
            )
        )
        assert [len(one.answers) for one in kept_jobs(opened)] == [1]


def test_healthy_houses_are_the_ones_without_work(archive: Path) -> None:
    with Archive.open(archive) as opened:
        for job in kept_jobs(opened):
            if made(9, int(job.job.rpartition("-")[2])).planted.healthy:
                assert job.no_work, job.job


def test_a_run_kept_without_its_result_is_told_and_not_counted(tmp_path: Path) -> None:
    job = made(9, 1)
    record = job.record()
    with Archive.open(tmp_path / "bare.sqlite", write=True) as opened:
        opened.keep(Kept(record, job.text.encode(), record.market, PolicyFiles("0" * 64, {}), "2026-11-25T00:00:00Z"))
        bare: list[int] = []
        assert list(kept_jobs(opened, without=lambda entry: bare.append(entry.number))) == []
    assert bare == [1]


def test_past_review_goes_by_the_day_that_is_handed_in(archive: Path) -> None:
    with Archive.open(archive) as opened:
        assert past_review(opened, date(2026, 1, 1)) == ()
        late = past_review(opened, date(2100, 1, 1))
    assert late
    assert all("the review was due by" in one for one in late)


def test_the_command_counts_what_the_archive_holds(archive: Path, tmp_path: Path) -> None:
    page = tmp_path / "season.html"
    done = call(["season", "--archive", str(archive), "--json", "--on", "2026-01-01", "--html", str(page)], tmp_path)
    assert done.status == 0, done.err
    told = json.loads(done.out)
    assert told["markets"][0]["jobs"] == COUNT
    assert told["past_review"] == {"on": "2026-01-01", "values": []}
    assert {one["what"] for one in told["not_told"]} >= {"Warranty cost per job", "Hours the unit was off"}
    assert page.read_text("utf-8").count("<svg") >= 4
    plain = call(["season", "--archive", str(archive)], tmp_path)
    assert plain.status == 0
    assert f"{COUNT} jobs surveyed" in plain.out


def test_wrong_dates_and_an_empty_choice_are_told(archive: Path, tmp_path: Path) -> None:
    backwards = call(["season", "--archive", str(archive), "--from", "2026-09-01", "--to", "2026-01-01"], tmp_path)
    assert backwards.status == 2
    assert "--from 2026-09-01 is after --to 2026-01-01" in backwards.err
    nobody = call(["season", "--archive", str(archive), "--market", "nowhere"], tmp_path)
    assert nobody.status == 2
    assert "No kept job" in nobody.err
