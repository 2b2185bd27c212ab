"""Rules against each other: every pair that some job makes fire is found, and every one that is found fires in its job.

Oracles: jobs at random and in full, evaluated by the reference evaluator and settled.
"""

from collections.abc import Iterable
from dataclasses import replace
from itertools import product
from random import Random

import pytest

from airwarrant.desks.contradictions import check_contradictions, contradictions
from airwarrant.errors import PolicyError
from airwarrant.policy.compose import compose
from airwarrant.policy.model import CheckClause, FindingClause, ManyClause, Policy, Rule, Task, Then, WhereClause
from airwarrant.rules.facts import Facts, Subject
from airwarrant.rules.reference import evaluate
from airwarrant.scope.settle import settle
from airwarrant.scope.votes import votes_of
from airwarrant.source.place import Place
from jobs import POLICIES

SHIPPED = compose(POLICIES, "clay-hollow", {})
SEAL = Task("seal", Place("t.toml", 1, 1), "trade", {}, title="Seal", groups=("airflow",))
LINE = Then("line", "seal", tier="optional")
NO = Then("decline", "task:seal", text="no")
NO_GROUP = Then("decline", "group:airflow", text="no")


def _rule(name: str, then: Then, **keys: object) -> Rule:
    rule = Rule(
        name, Place("r.toml", 1, 1), "trade", {}, title=name, stage="scope", authority="practice", each="house", where=(), when=(),
        any=(), unless=(), then=(then,),
    )  # fmt: skip
    return replace(rule, **keys)  # type: ignore[arg-type]


def _policy(*rules: Rule) -> Policy:
    tasks = {name: replace(SEAL, name=name) for name in ("seal", "balance", "replace")}
    return replace(SHIPPED, rules={rule.name: rule for rule in rules}, tasks=tasks, checks={}, figures={})


def _found(*rules: Rule) -> set[tuple[str, str]]:
    return {(one.asks.name, one.declines.name) for one in contradictions(_policy(*rules))}


def _check(name: str, *words: str) -> CheckClause:
    return CheckClause(name, words)  # type: ignore[arg-type]


def test_the_shipped_markets_contradict_themselves_nowhere() -> None:
    assert contradictions(SHIPPED) == ()


def test_a_line_and_a_decline_of_one_authority_that_one_job_has_both_of() -> None:
    asks = _rule("a", LINE, where=(("fuel", ("gas",)),), when=(_check("flow", "fail"),))
    declines = _rule("b", NO_GROUP, when=(_check("draft", "pass"),))
    (one,) = contradictions(_policy(asks, declines))
    assert one.example == ('house.fuel = "gas"', "check draft of house says pass", "check flow of house says fail")
    with pytest.raises(PolicyError) as raised:
        check_contradictions(_policy(asks, declines))
    (fault,) = raised.value.faults
    assert (fault.code, fault.place, "r.toml:1:1" in fault.found) == ("contradiction", declines.place, True)


@pytest.mark.parametrize(
    "rules",
    [
        (_rule("a", LINE, when=(_check("flow", "fail"),)), _rule("b", NO, when=(_check("flow", "pass", "close"),))),
        (_rule("a", LINE, where=(("fuel", ("gas",)),)), _rule("b", NO, where=(("fuel", ("oil",)),))),
        (_rule("a", LINE, unless=(_check("flow", "pass"),)), _rule("b", NO, when=(_check("flow", "pass"),))),
        (_rule("a", LINE), _rule("b", NO, authority="exclusion")),
        (_rule("a", LINE), _rule("b", replace(NO, name="task:balance"))),
        # The finding that the one needs follows from what the other excludes.
        (
            _rule("f", Then("finding", "x"), when=(_check("flow", "fail"),)),
            _rule("a", LINE, when=(FindingClause("x"),)),
            _rule("b", NO, when=(_check("flow", "pass"),)),
        ),
        # The finding that bars the one follows from what the other needs.
        (
            _rule("f", Then("finding", "x"), when=(_check("flow", "pass"),)),
            _rule("a", LINE, unless=(FindingClause("x"),)),
            _rule("b", NO, when=(_check("flow", "pass"),)),
        ),
        (_rule("a", LINE, when=(ManyClause("none", "zone"),)), _rule("b", NO, when=(ManyClause("some", "zone"),))),
        # Of one room the line, of another the decline: they are not the same line.
        (
            _rule("a", LINE, each="room", where=(("use", ("bath",)),)),
            _rule("b", NO, each="room", where=(("use", ("hall",)),)),
        ),
    ],
)  # fmt: skip
def test_rules_that_no_job_has_both_of_do_not_contradict_each_other(rules: tuple[Rule, ...]) -> None:
    assert _found(*rules) == set()


@pytest.mark.parametrize(
    "rules",
    [
        (_rule("a", LINE, each="room"), _rule("b", NO)),
        (_rule("a", LINE, each="room"), _rule("b", NO, each="zone", where=(("open_draft", ("unknown",)),))),
        (_rule("a", replace(LINE, at="zone"), each="platform"), _rule("b", NO, each="zone")),
        (_rule("a", LINE, when=(ManyClause("every", "room", check="flow", is_=("pass",)),)), _rule("b", NO)),
        (
            _rule("f", Then("finding", "x", at="room"), each="run", where=(("condition", ("crushed",)),)),
            _rule("a", LINE, each="room", when=(FindingClause("x"),)),
            _rule("b", NO, each="room", unless=(WhereClause((("use", ("bedroom",)),)),)),
        ),
    ],
)  # fmt: skip
def test_rules_of_different_things_may_contradict_each_other(rules: tuple[Rule, ...]) -> None:
    assert _found(*rules) == {("a", "b")}


def test_one_reading_cannot_be_below_a_limit_and_above_a_higher_one() -> None:
    keep = _rule("a", LINE, each="plenum", when=(_check("plenum-keep", "pass"),))
    bad = _rule("b", NO, each="plenum", when=(_check("plenum-bad", "fail"),))
    policy = replace(_policy(keep, bad), checks=SHIPPED.checks)
    assert contradictions(policy) == ()
    other = replace(bad, when=(_check("plenum-bad", "pass"),))
    assert len(contradictions(replace(_policy(keep, other), checks=SHIPPED.checks))) == 1


def _clashes(rules: Iterable[Rule], facts: Facts) -> set[tuple[str, str]]:
    """Pairs that settle reports in one job."""
    policy = _policy(*rules)
    firings, _ = evaluate(policy.rules, facts)
    subjects = {subject.key: subject for held in facts.subjects.values() for subject in held}
    votes = votes_of(policy.rules, firings, subjects, 1)
    out = set()
    for asks, declines in product(votes, votes):
        if asks.then.what == "line" and declines.then.what == "decline" and asks.authority == declines.authority:
            found = settle((asks, declines), policy.tasks, subjects, frozenset())
            out |= {(asks.rule, declines.rule) for _ in found.contradictions}
    return out


def test_over_every_job_of_a_small_world_exactly_the_pairs_that_settle_reports_are_found() -> None:
    """Two checks, one word and one finding: all 4 x 4 x 3 jobs of a house, for policies at random."""
    random = Random(20260101)
    words = ("pass", "fail", "close", "unmeasured")
    jobs = [
        Facts(
            {"house": (Subject("house", "house", {"table_includes": fuel} if fuel != "unknown" else {}),)},
            {("flow", "found", "house"): one, ("draft", "found", "house"): two},
        )
        for one, two, fuel in product(words, words, ("stated", "unknown"))
    ]
    pairs = 0
    for _ in range(150):
        rules = []
        for number in range(random.randint(3, 6)):
            clauses = [
                _check(random.choice(("flow", "draft")), *random.sample(words, random.randint(1, 3))),
                WhereClause((("table_includes", (random.choice(("stated", "unknown")),)),)),
                *([FindingClause("x")] if number >= 2 else []),
            ]
            chosen = random.sample(clauses, random.randint(1, 2))
            then = random.choice((LINE, NO)) if number >= 2 else Then("finding", "x")
            part = random.choice(("when", "when", "unless"))
            if number < 2 and part == "unless":
                part = "when"
            rules.append(_rule(f"r{number}", then, **{part: tuple(chosen)}))
        expected = set().union(*(_clashes(rules, job) for job in jobs))
        assert _found(*rules) == expected, rules
        pairs += len(expected)
    assert pairs > 50
