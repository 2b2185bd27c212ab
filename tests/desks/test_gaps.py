"""Whether a record is good enough: what must be answered, what could decide most, what looks odd; never a refusal of the unusual."""

from collections.abc import Callable, Iterator
from random import Random
from typing import Any

import pytest
import tomli_w

from airwarrant.desks.gaps import Gaps, gaps
from airwarrant.desks.reads import words_read
from airwarrant.desks.what_if import WhatIf
from airwarrant.evaluate import Evaluator
from airwarrant.job.dictionary import KINDS
from airwarrant.job.reading_records import parse_job
from airwarrant.job.subject import Subject
from airwarrant.policy.compose import compose
from airwarrant.rules.facts import Facts
from airwarrant.rules.reference import evaluate
from airwarrant.run import Run
from airwarrant.scope.settle import settle
from airwarrant.scope.votes import votes_of
from jobs import JOBS, POLICIES, data, item

Change = Callable[[dict[str, Any]], Any]
Running = Callable[[dict[str, Any]], Run]


@pytest.fixture(scope="module")
def running() -> Iterator[Running]:
    made: dict[str, Evaluator] = {}

    def run(record: dict[str, Any]) -> Run:
        parsed = parse_job(tomli_w.dumps(record).encode(), "job.toml")
        if parsed.market not in made:
            made[parsed.market] = Evaluator(compose(POLICIES, parsed.market, parsed.dates), detail=False)
        return made[parsed.market].run(parsed)

    yield run
    for one in made.values():
        one.close()


def checked(running: Running, job: str, change: Change = lambda d: None) -> Gaps:
    record = data(job)
    change(record)
    return gaps(running(record))


def names(found: Gaps) -> list[str]:
    return [one.name for one in found.missing]


# --- good enough or not


@pytest.mark.parametrize("job", JOBS)
def test_the_demo_records_are_good_enough(running: Running, job: str) -> None:
    found = checked(running, job)
    assert found.good_enough
    assert found.waits == ()


@pytest.mark.parametrize(
    ("change", "kind", "rule"),
    [
        (lambda d: d["visit"][0].pop("return_static"), "hold", "trust.measure-first"),
        (lambda d: d["visit"][0].pop("return_static"), "read again", "trust.read-the-statics"),
        (lambda d: d["visit"][0].update(filter="loaded"), "read again", "trust.dirty-filter"),
        (lambda d: d["old"]["blower"].pop("kind"), "hold", "trust.fan-setting"),
        (lambda d: (d.pop("zone"), d.pop("appliance")), "hold", "guard.zone-not-surveyed"),
        (lambda d: d["visit"][0].update(external_static=0.70), "hold", "trust.static-adds-up"),
        (lambda d: d["visit"][0].update(ambient_co=80), "stop", "guard.co-leave@house"),
    ],
)
def test_what_keeps_the_offer_back_is_said_with_its_rule(
    running: Running, change: Change, kind: str, rule: str
) -> None:
    found = checked(running, "1042", change)
    assert not found.good_enough
    assert (kind, rule) in {(wait.kind, wait.rule) for wait in found.waits}


def test_what_was_read_and_fails_is_no_gap(running: Running) -> None:
    """Job 2718: the combustion zone fails its test. That is an answer; the record lacks nothing."""
    record = data("2718")
    assert "draft-fails" in {atom.name for atom in running(record).outcome.atoms}
    assert checked(running, "2718").good_enough


# --- what is missing, in its order


def test_what_the_offer_waits_for_comes_before_what_could_decide_more(running: Running) -> None:
    found = checked(running, "1042", lambda d: d["visit"][0].pop("return_static"))
    first = found.missing[0]
    assert (first.name, first.subjects, first.where) == ("return_static", ("house",), "[[visit]] return_static")
    assert {"trust.measure-first", "trust.read-the-statics"} <= set(first.asked_by)
    waiting = [bool(one.asked_by) for one in found.missing]
    assert waiting == sorted(waiting, reverse=True)
    rest = [len(one.lines) for one in found.missing if not one.asked_by]
    assert rest == sorted(rest, reverse=True)


def test_a_missing_leakage_test_could_decide_the_sealing(running: Running) -> None:
    def change(record: dict[str, Any]) -> None:
        for name in ("leakage_25", "leakage_return_25", "leakage_supply_25", "unit_temp"):
            del record["visit"][0][name]

    found = {one.name: one for one in checked(running, "1042", change).missing}
    assert "seal-ducts@house" in found["leakage_25"].lines


def test_a_reading_in_a_state_that_does_not_do_is_told_with_its_state(running: Running) -> None:
    stated = {"value": 0.38, "state": "stated"}
    found = checked(running, "1042", lambda d: d["visit"][0].update(supply_static=stated))
    one = next(one for one in found.missing if one.name == "supply_static")
    assert one.note == "it is stated, not measured"


def test_things_that_lack_the_same_word_stand_in_one_row(running: Running) -> None:
    def change(record: dict[str, Any]) -> None:
        for key in ("bed-2", "bed-3"):
            item(record, "room", key).pop("damper_access")

    found = next(one for one in checked(running, "1042", change).missing if one.name == "damper_access")
    assert {"bed-2", "bed-3"} <= set(found.subjects)
    assert found.where == "[[room]] damper_access"


# --- questions


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (lambda d: d["house"].update(floor_area=6200), "usual is 600 to 3500"),
        (lambda d: d["house"].update(ceiling_height=14), "usual is 7 to 12"),
        (lambda d: d["visit"][0].update(supply_temp=40), "usual is 45 to 72"),
        (lambda d: d["house"].pop("altitude"), "altitude is not written"),
    ],
)
def test_the_unusual_is_asked_about_and_not_refused(running: Running, change: Change, text: str) -> None:
    found = checked(running, "1042", change)
    assert any(text in question.text for question in found.questions)
    assert found.good_enough


def test_a_question_names_the_place_in_the_record(running: Running) -> None:
    found = checked(running, "1042", lambda d: d["house"].update(floor_area=6200))
    question = next(one for one in found.questions if "floor" in one.text)
    assert question.place is not None
    assert question.text.startswith("house.floor_area: ")


def test_usual_ranges_are_asked_in_the_units_of_the_record(running: Running) -> None:
    bare: dict[str, Any] = {
        "format": "airwarrant/job/1",
        "id": "1",
        "market": "copper-basin",
        "units": "si",
        "dates": data("1042")["dates"],
        "house": {"floor_area": 600.0},
    }
    found = gaps(running(bare))
    # 3,500 ft2 = 325 m2
    assert any("600.00 m2; usual is 55.7 to 325" in question.text for question in found.questions)


# --- what would come of another answer


def brute(run: Run, facts: Facts, subjects: dict[str, Subject]) -> dict[str, str]:
    """States of all lines by the reference evaluator, from nothing."""
    rules = run.policy.rules
    firings, atoms = evaluate(rules, facts)
    findings = frozenset((atom.name, atom.key) for atom in atoms if atom.what == "finding")
    settled = settle(votes_of(rules, firings, subjects, 1), run.policy.tasks, subjects, findings)
    states: dict[str, str] = {i: line.state for i, line in settled.lines.items() if line.state in ("scoped", "held")}
    return states | ({"proposal": "held"} if settled.proposal_holds else {})


def differs(one: dict[str, str], other: dict[str, str]) -> frozenset[str]:
    return frozenset(name for name in one.keys() | other.keys() if one.get(name) != other.get(name))


@pytest.mark.parametrize("job", JOBS)
def test_an_answer_asked_for_is_the_answer_of_evaluating_the_whole_again(running: Running, job: str) -> None:
    run = running(data(job))
    what_if, random = WhatIf(run), Random(7)
    by_kind: dict[str, list[Subject]] = {}
    for subject in run.subjects.values():
        by_kind.setdefault(subject.kind, []).append(subject)
    words = {key: verdict.word for key, verdict in run.verdicts.items()}
    before = run.rounds[-2].scoped if len(run.rounds) > 1 else ()
    carried = frozenset(line.partition("@")[0] for line in before)
    facts = Facts({kind: tuple(held) for kind, held in by_kind.items()}, words, carried)
    base = brute(run, facts, dict(run.subjects))
    for key in random.sample(sorted(words), 12):
        for word in ("pass", "fail", "unmeasured"):
            other = Facts(facts.subjects, {**words, key: word}, carried)
            assert what_if.verdicts({key: word}) == differs(base, brute(run, other, dict(run.subjects))), (key, word)
    fields = [(s.key, name) for kind, name in words_read(run.policy) for s in by_kind.get(kind, ())]
    for key, name in random.sample(fields, 12):
        kind = run.subjects[key].kind
        for word in KINDS[kind].fields[name].words:
            changed = Subject(kind, key, {**run.subjects[key].words, name: word}, run.subjects[key].links)
            subjects = {**run.subjects, key: changed}
            several = {k: tuple(subjects[s.key] for s in held) for k, held in by_kind.items()}
            expected = differs(base, brute(run, Facts(several, words, carried), subjects))
            assert what_if.word(key, name, word) == expected, (key, name, word)
