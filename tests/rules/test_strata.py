"""Rules run in the order in which what they read is complete."""

import pytest
from writing import chain, facts, finds, line, rule, rules

from airwarrant.errors import PolicyError
from airwarrant.policy.model import FindingClause, LineClause, ManyClause, Rule
from airwarrant.rules.engine import Engine
from airwarrant.rules.reference import evaluate
from airwarrant.rules.strata import components, strata


def test_a_rule_that_reads_a_finding_of_one_place_may_stand_in_the_same_stratum() -> None:
    assert strata(chain(3)) == (("c.000", "c.001", "c.002"),)
    assert components(chain(3)) == (("c.000",), ("c.001",), ("c.002",))


@pytest.mark.parametrize(
    "reader",
    [
        rule("b", unless=[FindingClause("f")]),
        rule("b", unless=[ManyClause("some", "room", finding="f")]),
        rule("b", when=[ManyClause("some", "room", finding="f")]),
        rule("b", when=[ManyClause("every", "room", finding="f")]),
        rule("b", any_=[ManyClause("none", "room", finding="f")]),
    ],
)
def test_a_rule_that_needs_all_of_a_finding_stands_later(reader: Rule) -> None:
    assert strata(rules(rule("a", finds("f")), reader)) == (("a",), ("b",))


def test_a_stratum_is_kept_through_rules_in_between() -> None:
    policy = rules(
        rule("a", finds("f")),
        rule("b", line("t"), unless=[FindingClause("f")]),
        rule("c", when=[LineClause("t")]),
        rule("d", unless=[LineClause("t")]),
    )
    assert strata(policy) == (("a",), ("b", "c"), ("d",))


def test_rules_that_feed_each_other_run_in_one_ring() -> None:
    policy = rules(
        rule("a", finds("f"), when=[FindingClause("g")]),
        rule("b", finds("g"), when=[FindingClause("f")]),
        rule("c", finds("f")),
    )
    assert components(policy) == (("c",), ("a", "b"))
    with Engine(policy) as engine:
        assert [firing.rule for firing in engine.run(facts()).firings] == ["a", "b", "c"]


def test_a_rule_that_waits_for_the_end_of_its_own_conclusion_is_refused_with_both_places() -> None:
    policy = rules(
        rule("a", finds("f"), unless=[FindingClause("g")], at_line=3),
        rule("b", finds("g"), when=[FindingClause("f")], at_line=9),
    )
    with pytest.raises(PolicyError) as caught:
        strata(policy)
    (fault,) = caught.value.faults
    assert fault.code == "cycle"
    assert "rules.toml:3:1" in str(fault)
    assert "rules.toml:9:1" in str(fault)
    with pytest.raises(PolicyError) as caught:
        evaluate(policy, facts())
    assert [fault.code for fault in caught.value.faults] == ["cycle"]


def test_a_rule_that_bars_itself_is_refused() -> None:
    with pytest.raises(PolicyError, match="what it concludes itself"):
        strata(rules(rule("a", finds("f"), unless=[FindingClause("f")])))


def test_every_cycle_is_reported_at_once() -> None:
    with pytest.raises(PolicyError) as caught:
        strata(rules(*(rule(n, finds(n), unless=[FindingClause(n)], at_line=i) for i, n in enumerate("abc", 1))))
    assert len(caught.value.faults) == 3


def test_a_long_chain_is_sorted_and_fired_to_its_end() -> None:
    policy = chain(300)
    assert len(components(policy)) == 300
    with Engine(policy) as engine:
        assert len(engine.run(facts()).firings) == 300


def test_no_rules_have_no_strata() -> None:
    assert strata({}) == ()
    with Engine({}) as engine:
        assert engine.run(facts()).firings == ()
