"""Kept jobs come out as they were kept, on both evaluators; where one does not, the first difference is named."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from small_archive import findings

import reading_once
from airwarrant.desks.accept import accept
from airwarrant.desks.kept_again import Again, check_many, first_difference
from airwarrant.desks.made_from import MadeFrom
from airwarrant.job.reading_records import job_document, parse_job
from airwarrant.policy.compose import compose
from airwarrant.policy.files import policy_texts
from airwarrant.records import kept as keeping
from airwarrant.records.archive import Archive
from airwarrant.records.erase import erase
from airwarrant.records.kept import Kept, PolicyFiles
from airwarrant.records.policy_again import policy_folder
from airwarrant.session import Session
from jobs import POLICIES, SCENARIOS
from program import completed

WHEN = "2026-11-25T21:00:00Z"


@pytest.fixture(scope="module")
def jobs() -> dict[str, Kept]:
    """The main job, and one decided on two visits, evaluated."""
    found = {}
    with Session(POLICIES) as session:
        for job in ("1042", "4471"):
            text = (SCENARIOS / f"job-{job}.toml").read_bytes()
            record = parse_job(text, f"job-{job}.toml")
            result = session.evaluate(record)
            texts = policy_texts((POLICIES,), record.market, record.dates)
            files = PolicyFiles(result["digests"]["policy"], texts)
            found[job] = Kept(record, text, record.market, files, WHEN, result)
    return found


@pytest.fixture(scope="module")
def path(jobs: dict[str, Kept], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Both jobs, and a test-out of the main one."""
    path = tmp_path_factory.mktemp("again") / "a.sqlite"
    main = jobs["1042"]
    assert main.result is not None
    made = MadeFrom(job_document(main.text, main.record.file), main.record, main.market, main.policy.texts, main.text)
    text = (SCENARIOS / "test-out-1042.toml").read_bytes()
    acceptance = accept(main.result, made, text, "test-out-1042.toml")
    with Archive.open(path, write=True) as archive:
        for one in jobs.values():
            archive.keep(one)
        archive.keep(replace(main, test_out=keeping.TestOutKept("test-out-1042.toml", text, acceptance, 1)))
    return path


def test_a_run_two_visits_and_a_test_out_come_out_as_they_were_kept(path: Path) -> None:
    assert check_many(path, [1, 2, 3], first=1) == []


def test_the_policy_composes_again_from_what_is_kept_alone(path: Path, jobs: dict[str, Kept]) -> None:
    with Archive.open(path) as archive, Session(POLICIES) as session:
        for entry, kept in zip(archive.entries(), jobs.values(), strict=False):
            with policy_folder(archive.policy_texts(entry)) as folder:
                policy = compose(folder, entry.market, archive.record(entry).dates)
            reading_once.forget()  # what the session has is composed by itself
            assert policy == session.evaluator(kept.record).policy, "places and all"
            assert policy.digest == entry.policy_digest


def test_once_personal_data_is_erased_they_still_come_out_the_same(path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "a.sqlite"
    copy.write_bytes(path.read_bytes())
    with Archive.open(copy, write=True) as archive:
        for job in ("1042", "4471"):
            erase(archive, list(archive.entries(job=job)), why="asked", kept_at=WHEN)
    assert not findings(copy)
    assert check_many(copy, [1, 2, 3], first=1) == []


@pytest.mark.parametrize(
    ("change", "place"),
    [
        (lambda r: r["lines"][1].update(tier="optional"), "lines[1].tier is 'recommended', was 'optional'"),
        (lambda r: r["declined"].pop(), "declined has "),
        (lambda r: r.pop("totals"), "totals is new"),
        (lambda r: r.update(more=1), "more is gone"),
    ],
)
def test_a_result_that_is_not_what_comes_out_is_found_with_its_first_difference(
    jobs: dict[str, Kept], tmp_path: Path, change: Any, place: str
) -> None:
    import json

    main = jobs["1042"]
    result = json.loads(json.dumps(main.result))
    change(result)
    with Archive.open(tmp_path / "a.sqlite", write=True) as archive:
        archive.keep(replace(main, result=result))
    assert not findings(tmp_path / "a.sqlite"), "it was kept like that: only an evaluation tells"
    (found,) = check_many(tmp_path / "a.sqlite", [1], first=1)
    assert (found.code, found.entry) == ("result-differs", 1)
    assert f"first different: {place}" in found.found
    assert check_many(tmp_path / "a.sqlite", [1], first=None) == []


def test_a_job_whose_policy_is_not_whole_is_said_not_to_be_evaluated(jobs: dict[str, Kept], tmp_path: Path) -> None:
    main = jobs["1042"]
    texts = dict(main.policy.texts)
    texts.pop(next(name for name in texts if name.startswith("trade/")))
    with Archive.open(tmp_path / "a.sqlite", write=True) as archive:
        archive.keep(replace(main, policy=PolicyFiles(main.policy.digest, texts)))
    (found,) = check_many(tmp_path / "a.sqlite", [1], first=1)
    assert found.code == "not-evaluated"
    told = completed("audit", "verify", "--archive", tmp_path / "a.sqlite")
    assert told.returncode == 1
    assert told.stdout.splitlines()[-1].startswith("Every digest agrees. If another airwarrant kept these jobs")


def test_both_evaluators_take_part(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[bool] = []
    evaluate = Session.evaluate

    def watched(self: Session, *given: Any, **named: Any) -> dict[str, Any]:
        asked.append(named.get("check_both", False))
        return evaluate(self, *given, **named)

    monkeypatch.setattr(Session, "evaluate", watched)
    with Archive.open(path) as archive, Again(archive) as again:
        assert not list(again.differs(archive.entry(1)))
    assert asked[0] is True


@pytest.mark.parametrize(
    ("one", "other", "place"),
    [
        ({"a": [1, {"b": "x"}]}, {"a": [1, {"b": "y"}]}, "a[1].b is 'y', was 'x'"),
        ({"a": 1}, {"a": 1.0}, "a is 1.0, was 1"),
        ({"a": True}, {"a": 1}, "a is 1, was True"),
        ({"a": [1]}, {"a": [1, 2]}, "a has 2 entries, not 1"),
        ({"a": None}, {}, "a is gone"),
        ({"a": {"b": 1}}, {"a": {"b": 1}}, None),
    ],
)
def test_the_first_difference_of_two_documents(one: Any, other: Any, place: str | None) -> None:
    assert first_difference(one, other) == place
