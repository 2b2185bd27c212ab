"""Decisions go into the record with its comments kept, the scope follows, and nobody decides against a hazard."""

import json
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import pytest

from airwarrant.desks.decide import Decided, Decision, decide, with_decisions
from airwarrant.errors import CallError
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from airwarrant.session import Session
from jobs import POLICIES, SCENARIOS, states

ELBOW, RETURN, CABINET = "replace-elbow@roof-elbow", "add-return@living-route", "seal-cabinet@house"


@pytest.fixture(scope="module")
def session() -> Iterator[Session]:
    with Session(POLICIES) as one:
        yield one


class Job:
    """A demo job with its result, to be decided on."""

    def __init__(self, session: Session, job: str) -> None:
        self._session = session
        self.text = (SCENARIOS / f"job-{job}.toml").read_bytes()
        self.file = f"job-{job}.toml"
        self.result = self.evaluate(parse_job(self.text, self.file))

    def evaluate(self, record: JobRecord) -> dict[str, Any]:
        return self._session.evaluate(record)

    def decide(self, *decisions: Decision, text: bytes = b"", result: Mapping[str, Any] | None = None) -> Decided:
        return decide(result or self.result, text or self.text, self.file, decisions, self.evaluate)

    def refused(self, *decisions: Decision, text: bytes = b"", result: Mapping[str, Any] | None = None) -> list[str]:
        with pytest.raises(CallError) as error:
            self.decide(*decisions, text=text, result=result)
        return [fault.code for fault in error.value.faults]


@pytest.fixture(scope="module")
def ranch(session: Session) -> Job:
    return Job(session, "1042")


@pytest.fixture(scope="module")
def closet(session: Session) -> Job:
    return Job(session, "2718")


# --- what is written


def test_the_record_keeps_every_byte_and_gets_blocks_at_its_end(ranch: Job) -> None:
    found = ranch.decide(Decision(CABINET, "declined", "too dear", "homeowner"))
    assert found.text.startswith(ranch.text.rstrip())
    added = tomllib.loads(found.text.decode())
    assert added["choice"] == [{"line": CABINET, "decision": "declined", "note": "too dear, homeowner"}]
    assert {key: value for key, value in added.items() if key != "choice"} == tomllib.loads(ranch.text.decode())


def test_what_the_firm_leaves_out_is_an_override_with_reason_and_name(ranch: Job) -> None:
    found = ranch.decide(Decision(CABINET, "left-out", 'the panel is "welded"\nshut', "estimator-1"))
    record = parse_job(found.text, "job.toml")
    one = record.overrides[0]
    assert (one.line, one.decision, one.reason, one.by) == (
        CABINET,
        "left-out",
        'the panel is "welded"\nshut',
        "estimator-1",
    )
    assert found.result["overrides"][0]["taken"] is True


def test_a_file_of_windows_lines_keeps_them() -> None:
    text = with_decisions(b'id = "1"\r\n', "job.toml", [Decision(CABINET, "accepted")], "0" * 64)
    assert text.count(b"\n") == text.count(b"\r\n") > 3


def test_a_json_record_gets_its_decisions_in_its_lists(ranch: Job) -> None:
    data = json.dumps(tomllib.loads(ranch.text.decode()), default=date.isoformat)
    record = parse_job(data.encode(), "job.json")
    result = ranch.evaluate(record)
    found = decide(result, data.encode(), "job.json", [Decision(CABINET, "declined")], ranch.evaluate)
    assert json.loads(found.text)["choice"] == [{"line": CABINET, "decision": "declined"}]
    assert states(dict(found.result)).get(CABINET) is None


# --- the scope follows


def test_a_declined_line_takes_what_needs_it_along(ranch: Job) -> None:
    found = ranch.decide(Decision(ELBOW, "declined"))
    after = states(dict(found.result))
    assert ELBOW not in after
    assert after[RETURN] == "held"
    followed = {one.line: (one.before, one.after, one.why) for one in found.followed}
    assert followed[ELBOW] == ("scoped", "left-out", "")
    assert followed[RETURN] == ("scoped", "held", "waits for replace-elbow")
    why = {line: why for line, (before, _, why) in followed.items() if before == "not on the scope"}
    assert why["enlarge-filter-grille@house"] == f"rule grow.grille; follows from {ELBOW} declined"
    assert all(why.values())


def test_an_accepted_line_changes_nothing_but_the_record(ranch: Job) -> None:
    found = ranch.decide(Decision(ELBOW, "accepted"))
    assert found.followed == ()
    assert states(dict(found.result)) == states(ranch.result)
    assert found.result["choices"] == [{"line": ELBOW, "decision": "accepted"}]


def test_a_line_cannot_be_accepted_without_what_it_needs(ranch: Job) -> None:
    assert ranch.refused(Decision(RETURN, "accepted"), Decision(ELBOW, "declined")) == ["waits"]


# --- what nobody decides


def test_what_safety_requires_stays(closet: Job) -> None:
    line = "line-platform-return@closet-platform"
    assert closet.refused(Decision(line, "declined")) == ["required"]
    assert closet.refused(Decision(line, "left-out", "no time", "estimator-1")) == ["required"]
    assert closet.refused(Decision("combustion-test@closet", "declined")) == ["required"]


@pytest.mark.parametrize("line", ["test-in@house", "test-out@house"])
def test_what_the_papers_promise_stays(ranch: Job, line: str) -> None:
    assert ranch.refused(Decision(line, "declined")) == ["promised"]
    assert ranch.refused(Decision(line, "left-out", "no time", "estimator-1")) == ["promised"]


def test_a_record_that_leaves_out_the_readings_after_the_work_is_not_followed(ranch: Job) -> None:
    decision = Decision("test-out@house", "left-out", "no time", "estimator-1")
    text = with_decisions(ranch.text, ranch.file, [decision], "0" * 64)
    result = ranch.evaluate(parse_job(text, ranch.file))
    assert states(result)["test-out@house"] == "scoped"
    assert [one["taken"] for one in result["overrides"]] == [False]


def test_what_is_held_is_neither_accepted_nor_declined(closet: Job) -> None:
    for how in ("accepted", "declined"):
        assert closet.refused(Decision("seal-ducts@house", how)) == ["held"]  # type: ignore[arg-type]


def test_nothing_is_accepted_while_a_stop_stands(session: Session) -> None:
    job = Job(session, "1042")
    text = job.text.replace(b"ambient_co = 0", b"ambient_co = 80")
    result = job.evaluate(parse_job(text, job.file))
    assert result["stops"]
    assert "stopped" in job.refused(Decision("test-in@house", "accepted"), text=text, result=result)


@pytest.mark.parametrize(
    ("decisions", "codes"),
    [
        ((), ["no-decision"]),
        ((Decision("replace-elbw@roof-elbow", "declined"),), ["no-line"]),
        ((Decision("new-supply-plenum@supply-plenum", "declined"),), ["not-in-scope"]),
        ((Decision(CABINET, "left-out", "", "estimator-1"),), ["no-reason"]),
        ((Decision(CABINET, "left-out", "why", " "),), ["no-reason"]),
        ((Decision(CABINET, "accepted"), Decision(CABINET, "declined")), ["decided-twice"]),
    ],
)
def test_a_decision_that_cannot_be_taken_is_refused(
    ranch: Job, decisions: tuple[Decision, ...], codes: list[str]
) -> None:
    assert ranch.refused(*decisions) == codes


def test_a_record_that_has_changed_since_is_refused(ranch: Job) -> None:
    changed = ranch.text.replace(b"floor_area = 1720", b"floor_area = 1721")
    assert ranch.refused(Decision(CABINET, "declined"), text=changed) == ["record-changed"]


def test_a_line_is_decided_once(ranch: Job) -> None:
    found = ranch.decide(Decision(ELBOW, "accepted"))
    assert ranch.refused(Decision(ELBOW, "declined"), text=found.text, result=found.result) == ["decided-already"]


def test_a_control_character_in_a_reason_is_refused_and_not_written(ranch: Job) -> None:
    assert ranch.refused(Decision(CABINET, "left-out", "a\x07b", "estimator-1")) == ["bad-text"]
