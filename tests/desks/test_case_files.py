"""What is wrong with a case is said at its place: in its file, in a path it changes, in a name it expects."""

from typing import Any

import pytest

from airwarrant.desks.altered import altered
from airwarrant.desks.cases import CaseRunner
from airwarrant.errors import InputError, PolicyError
from airwarrant.job.reading_records import job_document
from airwarrant.policy.cases import parse_cases
from jobs import POLICIES, SCENARIOS

HEAD = '[cases]\ntitle = "T"\nfrom = "small-house"\n'
EXPECT = 'expect = [{ finding = "healthy" }]\n'


def _case(text: str) -> str:
    return f'{HEAD}[[case]]\ntitle = "one"\n{text}'


def _altered(case: str, job: str = "job-1042") -> dict[str, Any]:
    document = job_document((SCENARIOS / f"{job}.toml").read_bytes(), f"{job}.toml")
    return altered(document, parse_cases(_case(case + EXPECT).encode(), "cases/x.toml")[0]).data


@pytest.mark.parametrize(
    ("text", "place", "code", "advice"),
    [
        ("expect = []\n", "6:10", "too-short", ""),
        ("expect = [{ finding = 3 }]\n", "6:23", "wrong-type", ""),
        ("expect = [{ place = 'bed-2' }]\n", "6:11", "unknown-form", ""),
        ("expect = [{ finding = 'a', line = 'b' }]\n", "6:11", "unknown-form", ""),
        ("expect = [{ finding = 'a', tier = 'required' }]\n", "6:28", "unknown-key", ""),
        ("expect = [{ verdict = 'airflow' }]\n", "6:11", "missing-key", ""),
        ("expect = [{ verdict = 'airflow', is = 'fial' }]\n", "6:39", "unknown-word", "fail"),
        ("chnge = { old.runs = 'no' }\n" + EXPECT, "6:1", "unknown-key", "change"),
        (EXPECT + '[[case]]\ntitle = "one"\n' + EXPECT, "8:9", "duplicate-title", ""),
        ("change = { house.altitude = 0,5 }\n" + EXPECT, "6:12", "", ""),
    ],
)
def test_a_fault_of_the_file_stands_at_its_place(text: str, place: str, code: str, advice: str) -> None:
    with pytest.raises(PolicyError) as raised:
        parse_cases(_case(text).encode(), "cases/x.toml")
    faults = raised.value.faults
    if code:
        assert [(str(f.place), f.code) for f in faults] == [(f"cases/x.toml:{place}", code)]
        assert advice in faults[0].advice
    assert all(f.place is not None and f.place.file == "cases/x.toml" for f in faults)


@pytest.mark.parametrize(
    ("text", "place", "code", "says"),
    [
        ("change = { room.bed-9.flow = 3 }\n", "6:17", "not-there", "Did you mean `bed-2`?"),
        ("change = { rooom.bed-2.flow = 3 }\n", "6:12", "not-there", "Did you mean `room`?"),
        ("change = { visit.test-on.power = 3 }\n", "6:18", "not-there", "Did you mean `test-in`?"),
        ("change = { market = 'clay-hollow' }\n", "6:12", "unknown-key", "of the case itself"),
        ("change = { room.bed-2 = 3 }\n", "6:17", "wrong-type", ""),
        ("change = { room.bed-2.flw = 3 }\n", "6:23", "unknown-key", "not a key of this block"),
        ("change = { house.ambient_co = 99999 }\n", "6:31", "out-of-range", "0 to 2000 ppm"),
        ("add = { room.bed-2 = { flow = 3 } }\n", "6:14", "already-there", "`change`"),
        ("add = { zne.attic = {} }\n", "6:9", "not-there", "Did you mean `zone`?"),
        ("add = { choice = { line = 'a@b' } }\n", "6:9", "wrong-type", "a list"),
        ("without = ['room.bed-9']\n", "6:11", "not-there", "to leave out"),
        ("from = 'smal-house'\n", "6:8", "no-record", "Did you mean `small-house`?"),
        ("market = 'clay-hollw'\n", "6:10", "unknown-market", "Did you mean `clay-hollow`?"),
    ],
)
def test_a_path_that_leads_nowhere_is_said_at_its_place_with_the_nearest(
    text: str, place: str, code: str, says: str
) -> None:
    (case,) = parse_cases(_case(text + EXPECT).encode(), "cases/x.toml")
    with CaseRunner([POLICIES]) as runner:
        (fault,) = runner.run(case).faults
    at = str(fault.place).removeprefix("cases/x.toml:")
    assert (at, fault.code) == (place, code), str(fault)
    assert says in f"{fault.allowed} {fault.advice} {fault.found}"


def test_a_name_that_the_market_does_not_know_is_said_with_the_nearest() -> None:
    text = "expect = [{ finding = 'helthy' }, { line = 'seal-duct', rule = 'find.elbw' }]\n"
    (case,) = parse_cases(_case(text).encode(), "cases/x.toml")
    with CaseRunner([POLICIES]) as runner:
        faults = runner.run(case).faults
    assert [fault.advice for fault in faults] == [
        "Did you mean `healthy`?", "Did you mean `find.elbow`?", "Did you mean `seal-ducts`?",
    ] or {fault.advice for fault in faults} == {
        "Did you mean `healthy`?", "Did you mean `find.elbow`?", "Did you mean `seal-ducts`?",
    }  # fmt: skip


def test_an_expectation_that_is_not_met_says_what_came_instead() -> None:
    text = (
        "expect = [{ finding = 'healthy', absent = true }, { line = 'replace-elbow', place = 'roof-elbow' },\n"
        "  { fires = 'find.restricted' }, { nearly = 'find.healthy' }, { verdict = 'airflow', is = 'fail' }]\n"
    )
    (case,) = parse_cases(_case(text).encode(), "cases/x.toml")
    with CaseRunner([POLICIES]) as runner:
        failures = runner.run(case).failures
    assert [str(one.at.at) for one in failures] == [
        "cases/x.toml:6:11", "cases/x.toml:6:51", "cases/x.toml:7:3", "cases/x.toml:7:34", "cases/x.toml:7:63",
    ]  # fmt: skip
    assert [one.found for one in failures] == [
        "it is there by find.healthy",
        "it is declined by find.elbow-harmless",
        "against it: when[0]",
        "it fires",
        "it is pass: 400 cfm/ton against 350 cfm/ton by min_airflow",
    ]


def test_a_target_that_keeps_the_job_from_hand_over_is_told_from_one_that_does_not() -> None:
    text = (
        "expect = [{ target = 'nameplate', gate = false }, { target = 'nameplate', gate = true },\n"
        "  { target = 'airflow', gate = true }, { target = 'airflow', gate = false }, { target = 'airflow' }]\n"
    )
    (case,) = parse_cases(_case(text).encode(), "cases/x.toml")
    with CaseRunner([POLICIES]) as runner:
        failures = runner.run(case).failures
    assert [(str(one.at.at), one.found) for one in failures] == [
        ("cases/x.toml:6:11", "hand-over waits for it"),
        ("cases/x.toml:7:3", "hand-over does not wait for it"),
    ]


def test_a_reading_without_its_visit_is_one_of_the_newest_and_left_out_is_out_of_all() -> None:
    changed = _altered("change = { room.loft.flow = 35, house.power = 500 }\n", "job-4471")
    old, new = changed["visit"]
    loft = [next(room["flow"] for room in visit["room"] if room["id"] == "loft") for visit in (old, new)]
    assert (loft, old["power"], new["power"]) == ([40, 35], 520, 500)
    less = _altered("without = ['room.loft.flow', 'house.power']\n", "job-4471")
    assert all("power" not in visit for visit in less["visit"])
    assert all("flow" not in room for visit in less["visit"] for room in visit["room"] if room["id"] == "loft")


def test_what_is_added_is_there_and_nothing_else_changes() -> None:
    before = _altered("")
    after = _altered(
        "add = { material.wrap = { cut_needed = 'yes' }, choice = [{ line = 'a@b', decision = 'declined' }] }\n"
    )
    assert after.pop("material") == [{"id": "wrap", "cut_needed": "yes"}]
    assert after.pop("choice") == [{"line": "a@b", "decision": "declined"}]
    assert after == before


def test_a_case_that_changes_nothing_is_the_record_itself() -> None:
    document = job_document((SCENARIOS / "job-1042.toml").read_bytes(), "job-1042.toml")
    same = altered(document, parse_cases(_case(EXPECT).encode(), "cases/x.toml")[0])
    assert same.data == document.data
    assert all(same.place(path) == place for path, place in document.places.items())


def test_a_broken_market_is_reported_with_its_own_files() -> None:
    (case,) = parse_cases(_case(EXPECT).encode(), "cases/x.toml")
    with CaseRunner([POLICIES / "no-such-folder"]) as runner:
        came = runner.run(case)
    assert came.run is None
    assert came.faults
    assert issubclass(PolicyError, InputError)
