"""Every shipped scenario comes out as its expectation says, by rule."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from airwarrant.errors import RecordError
from airwarrant.job.lookup import through
from airwarrant.job.reading_records import read_job
from airwarrant.session import Session

ROOT = Path(__file__).resolve().parents[2]
SCENARIOS = ROOT / "scenarios"
JOBS = sorted(p.name.removesuffix(".expect.toml") for p in SCENARIOS.glob("job-*.expect.toml"))
WHOLE = [job for job in JOBS if job != "job-wrong"]


def _expected(job: str) -> dict[str, Any]:
    return tomllib.loads((SCENARIOS / f"{job}.expect.toml").read_text())


@pytest.fixture(scope="module")
def session() -> Iterator[Session]:
    with Session(ROOT / "policies") as session:
        yield session


def _entries(expected: dict[str, Any], block: str, *keys: str) -> set[tuple[str, ...]]:
    return {tuple(entry[key] for key in keys) for entry in expected.get(block, [])}


def _compare(result: dict[str, Any], expected: dict[str, Any]) -> None:
    scoped = [line for line in result["lines"] if line["state"] == "scoped"]
    lines = {(line["id"], line["firing"].split("@")[0], line["tier"]) for line in scoped}
    assert lines == _entries(expected, "line", "line", "rule", "tier")
    sizes = {line["id"]: line["size"] for line in scoped}
    assert all(sizes[line["line"]] == line["size"] for line in expected.get("line", []) if "size" in line)
    held = {(line["id"], hold["name"], hold["rule"]) for line in result["lines"] for hold in line["held_by"]}
    assert held == _entries(expected, "held", "line", "hold", "rule")
    earlier = {(line["id"],) for line in result["lines"] if line["state"] == "earlier"}
    assert earlier == _entries(expected, "earlier", "line")
    declined = {(entry["line"], entry["rule"]) for entry in result["declined"]}
    assert _entries(expected, "declined", "line", "rule") <= declined
    retests = {(r["reading"], r["subject"], r["when"], r.get("rule", "")) for r in result["retests"]}
    assert _entries(expected, "retest", "reading", "subject", "when", "rule") <= retests
    findings = {(f["finding"], f["at"], firing.split("@")[0]) for f in result["findings"] for firing in f["firings"]}
    assert _entries(expected, "finding", "finding", "at", "rule") <= findings
    assert result["sellable"]["answer"] == expected["sellable"]
    assert result["stops"] == []


@pytest.mark.parametrize("job", WHOLE)
def test_a_scenario_gives_the_lines_holds_and_declines_it_is_written_for(job: str, session: Session) -> None:
    _compare(session.evaluate(read_job(SCENARIOS / f"{job}.toml")), _expected(job))


@pytest.mark.parametrize("job", [job for job in WHOLE if "through" in _expected(job)])
def test_an_earlier_visit_gives_the_scope_of_its_own_day(job: str, session: Session) -> None:
    record = read_job(SCENARIOS / f"{job}.toml")
    for stage in _expected(job)["through"]:
        _compare(session.evaluate(through(record, stage["visit"])), stage)


def test_a_record_wrong_in_many_ways_reports_every_fault_at_its_line() -> None:
    with pytest.raises(RecordError) as caught:
        read_job(SCENARIOS / "job-wrong.toml")
    found = {(f.place.line if f.place else 0, f.field, f.code) for f in caught.value.faults}
    assert found == {(f["line"], f["field"], f["code"]) for f in _expected("job-wrong")["fault"]}
    assert len(found) >= 14
