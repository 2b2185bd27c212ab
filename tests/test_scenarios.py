"""The shipped jobs come out as their expectations say, by rule id."""

import tomllib
from typing import Any

import pytest

from airwarrant.errors import RecordError
from airwarrant.job.reading_records import read_job
from jobs import JOBS, SCENARIOS, data, declined, scope, states


@pytest.fixture(scope="module", params=JOBS)
def job(request: pytest.FixtureRequest) -> tuple[dict[str, Any], dict[str, Any]]:
    expected = tomllib.loads((SCENARIOS / f"job-{request.param}.expect.toml").read_text())
    return expected, scope(data(request.param))


def test_lines_are_the_expected_ones_and_no_other(job: tuple[dict[str, Any], dict[str, Any]]) -> None:
    expected, result = job
    wanted = {e["line"]: (e["rule"], e["tier"]) for e in expected.get("line", [])}
    got = {line["id"]: (line["rule"], line["tier"]) for line in result["lines"] if line["state"] == "scoped"}
    assert got == wanted
    earlier = {line["id"]: line["rule"] for line in result["lines"] if line["state"] == "earlier"}
    assert earlier == {e["line"]: e["rule"] for e in expected.get("earlier", [])}
    sizes = {line["id"]: line["size"] for line in result["lines"]}
    assert {e["line"]: e["size"] for e in expected["line"] if "size" in e}.items() <= sizes.items()


def test_holds_are_the_expected_ones_and_no_other(job: tuple[dict[str, Any], dict[str, Any]]) -> None:
    expected, result = job
    wanted = {(e["line"], e["hold"]) for e in expected.get("held", [])}
    assert {(line["id"], hold["name"]) for line in result["lines"] for hold in line["held_by"]} == wanted


def test_declines_name_their_rule_and_a_reading(job: tuple[dict[str, Any], dict[str, Any]]) -> None:
    expected, result = job
    got = declined(result)
    for entry in expected.get("declined", []):
        assert got[entry["line"]]["rule"] == entry["rule"]


def test_findings_and_retests_are_there_by_rule(job: tuple[dict[str, Any], dict[str, Any]]) -> None:
    expected, result = job
    found = {(f["finding"], f["at"], firing.rpartition("@")[0]) for f in result["findings"] for firing in f["firings"]}
    assert {(e["finding"], e["at"], e["rule"]) for e in expected.get("finding", [])} <= found
    retests = {(r["reading"], r["subject"], r["when"]) for r in result["retests"]}
    assert {(e["reading"], e["subject"], e["when"]) for e in expected.get("retest", [])} <= retests
    assert result["sellable"]["answer"] == expected["sellable"]


def test_a_record_that_is_wrong_in_many_ways_tells_all_of_them_at_once() -> None:
    expected = tomllib.loads((SCENARIOS / "job-wrong.expect.toml").read_text())["fault"]
    assert len({e["code"] for e in expected}) >= 12
    with pytest.raises(RecordError) as caught:
        read_job(SCENARIOS / "job-wrong.toml")
    got = {(f.place.line if f.place else 0, f.field, f.code) for f in caught.value.faults}
    assert got == {(e["line"], e["field"], e["code"]) for e in expected}
    for fault in caught.value.faults:
        assert fault.place is not None
        assert fault.place.file == "job-wrong.toml"
        assert fault.found


def test_a_job_where_all_passes_gets_no_airflow_line_and_names_what_rules_each_out() -> None:
    result = scope(data("5560"))
    assert {line["tier"] for line in result["lines"]} == {"included"}
    verdicts = {v["id"]: v for v in result["verdicts"]}
    for entry in result["declined"]:
        if entry["how"] == "declined":
            assert any("limit" in verdicts[reading] for reading in entry["readings"]), entry


def test_every_shipped_job_is_marked_as_demo() -> None:
    assert all(data(job)["demo"] is True for job in JOBS)


def test_lines_stand_in_an_order_that_honours_every_prerequisite() -> None:
    for job in JOBS:
        result = scope(data(job))
        order = {line["task"]: line["order"] for line in result["lines"]}
        for line in result["lines"]:
            assert all(order[task] < line["order"] for task in line["after"]), line["id"]


def test_states_know_no_third_word() -> None:
    for job in JOBS:
        assert set(states(scope(data(job))).values()) <= {"scoped", "held", "earlier"}
