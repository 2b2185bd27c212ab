"""Scope, sequence, don'ts, acceptance and wording: the further rules of the trade layer, tried on changed jobs."""

import re
import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from airwarrant.desks.cases import CasesChecked, check_cases
from airwarrant.job.reading_records import parse_job
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from airwarrant.result.directions import PARTS
from airwarrant.session import Session
from jobs import POLICIES, data, declined, item, states

TRADE = POLICIES / "trade/2026-01-01"
OURS = tuple(f"rules-{name}-more.toml" for name in ("scope", "guard", "accept"))
CASES = ("cases/scope-more.toml", "cases/edges.toml")
DATES = dict.fromkeys(("survey", "proposal", "permit"), date(2026, 7, 1))
MARKETS = sorted(file.stem for file in (POLICIES / "markets").glob("*.toml"))
LANGUAGES = ("en", "es")


@pytest.fixture(scope="module")
def session() -> Iterator[Session]:
    with Session(POLICIES) as session:
        yield session


@pytest.fixture(scope="module")
def checked() -> CasesChecked:
    return check_cases([POLICIES], only=lambda case: case.place.file.endswith(CASES))


@pytest.fixture(scope="module")
def policy() -> Policy:
    return compose(POLICIES, "copper-basin", DATES)


def _run(session: Session, record: dict[str, Any]) -> dict[str, Any]:
    return session.evaluate(parse_job(tomli_w.dumps(record).encode(), "job.toml"), check_both=True)


def _said(result: dict[str, Any], block: str, name: str, key: str = "name") -> str:
    return next(str(one["said"]) for one in result[block] if one[key] == name)


# ---------------------------------------------------------------- every rule


def test_every_case_of_scope_sequence_and_acceptance_holds(checked: CasesChecked) -> None:
    assert [str(fault) for fault in checked.faults] == []
    assert [str(failure) for failure in checked.failures] == []


@pytest.mark.parametrize("file", OURS)
def test_every_rule_speaks_in_one_case_and_narrowly_does_not_in_another(checked: CasesChecked, file: str) -> None:
    lacking = [str(one) for one in checked.coverage.uncovered() if one.place.file.endswith(file)]
    assert [one for one in lacking if "never fires" in one or "never narrowly" in one] == []


def test_every_entry_of_the_groups_is_named_in_a_policy_file() -> None:
    """SC, SQ, NO, AC, HO and RL: each entry is a rule's comment, or listed as what the program does or cannot yet."""
    text = "".join(file.read_text() for file in sorted(POLICIES.glob("*/**/2*/*.toml")))
    named = set(re.findall(r"\b(?:SC|SQ|NO|AC|HO|RL)-\d\d\b", text))
    for first, last in re.findall(r"\b(HO-\d\d) to (HO-\d\d)\b", text):
        named |= {f"HO-{n:02d}" for n in range(int(first[3:]), int(last[3:]) + 1)}
    counts = {"SC": 26, "SQ": 18, "NO": 18, "AC": 14, "HO": 11, "RL": 10}
    assert {f"{group}-{n:02d}" for group, most in counts.items() for n in range(1, most + 1)} - named == set()


# ---------------------------------------------------------------- what holds between rules


def _with_leak(**fields: str) -> dict[str, Any]:
    record = data("1042")
    record["leak"].append({"id": "extra", "side": "return", "at": "duct", "state": "sound", **fields})
    return record


def test_a_garage_leak_is_sealed_before_every_other_sealing(session: Session) -> None:
    result = _run(session, _with_leak(space="garage"))
    order = {line["task"]: line["order"] for line in result["lines"]}
    assert states(result)["seal-leak@extra"] == "scoped"
    assert all(order["seal-leak"] < order[task] for task in ("reseal-plenum", "seal-cabinet", "seal-ducts", "test-out"))


def test_the_cure_frees_only_the_leak_at_its_own_flame(session: Session) -> None:
    record = data("2718")
    for leak in ("joint", "elsewhere"):
        record["leak"].append({"id": leak, "side": "return", "at": "duct", "space": "closet", "state": "sound"})
    item(record, "leak", "joint")["zone"] = "closet"
    result = _run(session, record)
    got = states(result)
    assert got["seal-leak@joint"] == "scoped"
    assert "seal-leak@elsewhere" not in got
    assert got["seal-ducts@house"] == "held"


@pytest.mark.parametrize(
    ("state", "hold"), [("wet", "seal-over-wet"), ("mould-like", "seal-over-wet"), ("suspect-wrap", "asbestos")]
)
def test_no_sealing_over_wet_mouldy_or_suspect_surfaces(session: Session, state: str, hold: str) -> None:
    result = _run(session, _with_leak(space="attic", state=state))
    (line,) = [line for line in result["lines"] if line["id"] == "seal-ducts@house"]
    assert hold in {one["name"] for one in line["held_by"]}


def test_an_unseen_surface_makes_the_crew_look(session: Session) -> None:
    looked = _run(session, data("1042"))
    assert "look-before-sealing" in {c["name"] for c in looked["cautions"]}
    record = data("1042")
    for leak in record["leak"]:
        leak["state"] = "sound"
    assert "look-before-sealing" not in {c["name"] for c in _run(session, record)["cautions"]}


def test_the_locked_rules_can_be_taken_out_by_no_later_layer(policy: Policy) -> None:
    locked = {name for name, rule in policy.rules.items() if rule.keys["edit"].value == "locked"}
    ours = {"guard.seal-over-wet", "guard.seal-over-wrap", "guard.look-before-sealing", "guard.no-cloth-tape"}
    ours |= {"guard.leak-garage", "guard.leak-at-flame", "accept.carbon-monoxide"}
    assert ours <= locked


def test_a_hot_room_that_no_work_reaches_is_said_with_its_reading(session: Session) -> None:
    result = _run(session, data("1042"))
    said = _said(result, "cautions", "complaint-in-doubt")
    assert "bed 2" in said
    assert "72 cfm" in said
    assert ("flow", "bed-2", "at-test-out") in {(r["reading"], r["subject"], r["when"]) for r in result["retests"]}
    assert {(a["check"], a["place"]) for a in result["acceptance"]} >= {("complaint-room-flow", "bed-2")}


def test_a_complaint_nobody_read_holds_balancing_for_it(session: Session) -> None:
    record = data("4471")
    record["visit"] = record["visit"][:1]
    item(record["visit"][0], "room", "bed-2").pop("flow")
    result = _run(session, record)
    (balance,) = [line for line in result["lines"] if line["id"] == "balance-rooms@house"]
    assert "complaint-unread" in {one["name"] for one in balance["held_by"]}
    assert ("flow", "bed-2", "before-sale") in {(r["reading"], r["subject"], r["when"]) for r in result["retests"]}


# ---------------------------------------------------------------- wishes


def _wish(job: str, room: str, asked: str) -> dict[str, Any]:
    record = data(job)
    item(record, "room", room)["asked"] = asked
    return record


def test_a_wish_is_an_option_in_words_of_its_own(session: Session) -> None:
    result = _run(session, _wish("1042", "bed-3", "trimmed-door"))
    (line,) = [line for line in result["lines"] if line["id"] == "undercut-door@bed-3"]
    assert line["tier"] == "optional"
    assert line["said"].startswith("Your request, not needed by our tests")
    assert "5.8 Pa" in line["said"]
    assert "15.0 Pa" in line["said"]


def test_a_healthy_house_is_sold_no_airflow_work_even_as_a_wish(session: Session) -> None:
    result = _run(session, _wish("5560", "bed-2", "own-return"))
    assert "bedroom-return@bed-2" not in states(result)
    assert declined(result)["bedroom-return@bed-2"]["rule"] == "scope.nothing-needed"


def test_a_wish_for_a_return_still_waits_for_the_combustion_test(session: Session) -> None:
    (line,) = [
        line
        for line in _run(session, _wish("2718", "bed-2", "own-return"))["lines"]
        if line["id"] == "bedroom-return@bed-2"
    ]
    assert line["state"] == "held"
    assert "draft" in {one["name"] for one in line["held_by"]}


# ---------------------------------------------------------------- wording


def test_what_is_left_out_is_said_in_the_words_of_its_rule_with_its_reading(session: Session) -> None:
    result = _run(session, data("5560"))
    said = declined(result)["bedroom-return@bed-2"]["said"]
    for part in ("2.6 Pa", "2026-05-19", "our company uses here is 5.0 Pa", "federal guidance is 3 pascals"):
        assert part in said


def test_a_finding_is_said_with_reading_limit_and_day_and_one_full_stop(session: Session) -> None:
    result = _run(session, data("1042"))
    said = _said(result, "findings", "restricted", key="finding")
    assert said == "Your fan pushes against 0.860 in. w.c., read 2026-07-14. The limit here is 0.700 in. w.c."
    every = [one["said"] for block in ("findings", "cautions", "declined", "lines") for one in result[block]]
    assert not [text for text in every if ".." in text or "{" in text]


@pytest.mark.parametrize("market", MARKETS)
def test_every_finding_and_every_decline_is_said_in_both_languages(market: str) -> None:
    policy = compose(POLICIES, market, DATES)
    unsaid = set()
    for name, rule in policy.rules.items():
        for then in rule.then:
            keys = (name, then.name) if then.what == "finding" else (name,)
            if then.what in ("finding", "decline") and not any(
                set(LANGUAGES) <= set(policy.said.get(key, {})) for key in keys
            ):
                unsaid.add((name, then.what, then.name))
    assert unsaid == set()


def test_a_rule_that_asks_for_a_line_speaks_for_the_line_only_where_it_is_a_wish(policy: Policy) -> None:
    """A rule's own words stand for its line; one that also finds something would say the finding as the line."""
    both = {
        name for name, rule in policy.rules.items() if name in policy.said and any(t.what == "line" for t in rule.then)
    }
    assert both == {name for name in policy.rules if name.startswith("scope.asked-")} - {"scope.asked-larger-unit"}


def _texts() -> list[tuple[Path, str, str, str]]:
    out = []
    for file in sorted(POLICIES.glob("*/**/2*/*.toml")):
        for name, block in tomllib.loads(file.read_text()).get("said", {}).items():
            out += [(file, name, language, block[language]) for language in LANGUAGES if language in block]
    return out


def test_no_wording_promises_a_saving_or_speaks_of_illness() -> None:
    """HO-05, HO-07: no share of energy or money, no diagnosis."""
    money = re.compile(r"\b(sav(e|es|ing|ings)|lower (your )?bill|ahorr\w+)\b", re.IGNORECASE)
    illness = re.compile(
        r"\b(asthma|allerg\w+|disease|sick|cancer|asma|alergia\w*|enfermedad\w*|cáncer)\b", re.IGNORECASE
    )
    share = re.compile(r"\d\s?%|\bpercent\b|por ciento", re.IGNORECASE)
    wrong = [
        (name, text)
        for _, name, _, text in _texts()
        if money.search(text) or illness.search(text) or share.search(text)
    ]
    assert wrong == []


def test_no_short_form_stands_without_its_meaning() -> None:
    """HO-11. Units come in through holes and have a `term-` text each."""
    terms = {name for _, name, _, _ in _texts() if name.startswith("term-")}
    assert {"term-cfm", "term-inches-of-water", "term-pascal", "term-static-pressure", "term-ton"} <= terms
    known = {"Btu", "CO", "HVAC"}
    # The crew reads the mark of a listed tape as it is printed on the roll.
    crew = {"UL"}
    short = re.compile(r"\b[A-Z]{2,}[a-z]?\b")
    wrong = [
        (name, found)
        for _, name, _, text in _texts()
        if not name.startswith("term-")
        for found in short.findall(re.sub(r"\{[^}]*\}", "", text))
        if found not in known - {"CO", "HVAC"} | (crew if name.rpartition(".")[2] in PARTS else set())
    ]
    assert wrong == []


def _syllables(word: str) -> int:
    letters = re.sub(r"[^a-z]", "", word.lower())
    count = len(re.findall(r"[aeiouy]+", letters))
    if count > 1 and letters.endswith("e") and not letters.endswith("le"):
        count -= 1
    if count > 1 and re.search(r"[^td]ed$", letters):
        count -= 1
    return max(count, 1)


def _grade(text: str) -> float:
    """Reading grade: 0.39 words a sentence + 11.8 syllables a word - 15.59.

    Kincaid, Fishburne, Rogers, Chissom, "Derivation of new readability formulas for Navy enlisted personnel", Research Branch
    Report 8-75, 1975; the coefficients are from memory. Syllables are counted by vowel groups.
    """
    plain = re.sub(r"\{[^}]*\}", "ten", text)
    sentences = max(len(re.findall(r"[.!?;:](?:\s|$)", plain)), 1)
    words = re.findall(r"[A-Za-z0-9'.-]*[A-Za-z0-9]", plain)
    return 0.39 * len(words) / sentences + 11.8 * sum(map(_syllables, words)) / len(words) - 15.59


def test_the_english_is_read_at_about_the_eighth_grade() -> None:
    grades = {name: _grade(text) for _, name, language, text in _texts() if language == "en" and len(text.split()) > 6}
    assert sum(grades.values()) / len(grades) < 8.0
    assert {name: round(grade, 1) for name, grade in grades.items() if grade > 10.0} == {}
