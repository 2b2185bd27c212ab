"""What each clause means, held for the engine, the reference evaluator and the walk alike."""

import pytest
from writing import facts, finds, line, rule, rules

from airwarrant.errors import EngineFault
from airwarrant.policy.model import (
    CarriedClause,
    CheckClause,
    Clause,
    FactClause,
    FindingClause,
    LineClause,
    ManyClause,
    Rule,
    WhereClause,
)
from airwarrant.rules.engine import Engine
from airwarrant.rules.facts import Atom, Facts, Firing, Subject
from airwarrant.rules.verify import consistent, verify
from airwarrant.rules.walk import Read, Walked, walk

JOB = facts(
    Subject("house", "house", {"fuel": "gas"}),
    Subject("platform", "p1", {"lining": "bare"}, {"zone": "z1"}),
    Subject("platform", "p2", {"lining": "unknown"}),
    Subject("zone", "z1", {"open_draft": "yes"}),
    Subject("zone", "z2"),
    verdicts={
        ("draft", "found", "z1"): "fail",
        ("draft", "found", "z2"): "pass",
        ("flow", "found", "house"): "close",
        ("flow", "predicted", "house"): "pass",
    },
    carried=("seal",),
)
GROUND = (
    rule("ground.draft", finds("draft-fails"), each="zone", when=[CheckClause("draft", ("fail",))]),
    rule("ground.line", line("test"), each="zone", when=[FindingClause("draft-fails")]),
)


def fired(*more: Rule, job: Facts = JOB) -> set[str]:
    """Subjects at which the rule named `a` fires, by all three."""
    policy = rules(*GROUND, *more)
    with Engine(policy) as engine:
        outcome = engine.run(job)
    verify(outcome, policy, job)
    consistent(outcome, walk(policy, job, outcome.atoms))
    return {firing.subject for firing in outcome.firings if firing.rule == "a"}


def at(each: str, clause: Clause) -> set[str]:
    return fired(rule("a", each=each, when=[clause]))


@pytest.mark.parametrize(
    ("each", "clause", "holds"),
    [
        ("zone", CheckClause("draft", ("fail",)), {"z1"}),
        ("zone", CheckClause("draft", ("pass", "fail")), {"z1", "z2"}),
        ("platform", CheckClause("draft", ("fail",), target="zone"), {"p1"}),
        ("platform", CheckClause("draft", ("unmeasured",), target="zone"), set()),
        ("platform", CheckClause("draft", ("unmeasured",)), {"p1", "p2"}),
        ("platform", CheckClause("flow", ("close",), target="house"), {"p1", "p2"}),
        ("platform", CheckClause("flow", ("close",), "predicted", "house"), set()),
        ("house", CheckClause("flow", ("pass",), "predicted"), {"house"}),
        ("zone", FindingClause("draft-fails"), {"z1"}),
        ("platform", FindingClause("draft-fails", "zone"), {"p1"}),
        ("platform", FindingClause("draft-fails", "house"), set()),
        ("platform", LineClause("test", "zone"), {"p1"}),
        ("zone", LineClause("test"), {"z1"}),
        ("house", CarriedClause("seal"), {"house"}),
        ("house", CarriedClause("balance"), set()),
        ("platform", WhereClause((("lining", ("bare",)),)), {"p1"}),
        ("platform", WhereClause((("moisture", ("unknown",)),)), {"p1", "p2"}),
        ("house", ManyClause("some", "zone"), {"house"}),
        ("house", ManyClause("some", "room"), set()),
        ("house", ManyClause("none", "room"), {"house"}),
        ("house", ManyClause("every", "room", check="flow", is_=("fail",)), {"house"}),
        ("house", ManyClause("some", "zone", check="draft", is_=("fail",)), {"house"}),
        ("house", ManyClause("every", "zone", check="draft", is_=("fail",)), set()),
        ("house", ManyClause("none", "zone", check="draft", is_=("fail",)), set()),
        ("house", ManyClause("every", "zone", (("open_draft", ("yes",)),), finding="draft-fails"), {"house"}),
        ("house", ManyClause("none", "zone", (("open_draft", ("unknown",)),), line="test"), {"house"}),
        ("platform", FactClause("zone", (("id", "zone"),)), {"p1"}),
        ("platform", FactClause("zone", (("id", "zone"),), (("open_draft", ("no",)),)), set()),
        ("zone", FactClause("platform", (("zone", "id"),)), {"z1"}),
        ("platform", FactClause("platform", (("zone", "zone"),)), {"p1"}),
        ("platform", FactClause("platform", (("lining", "lining"),)), {"p1"}),
        ("zone", FactClause("zone", (("id", "id"),)), {"z1", "z2"}),
    ],
)
def test_a_clause_holds_where_it_should_and_unless_turns_it_round(each: str, clause: Clause, holds: set[str]) -> None:
    assert at(each, clause) == holds
    everyone = {subject.key for subject in JOB.of(each)}
    assert fired(rule("a", each=each, unless=[clause])) == everyone - holds
    assert fired(rule("a", each=each, any_=[clause, CarriedClause("balance")])) == holds
    assert fired(rule("a", each=each, any_=[clause, CarriedClause("seal")])) == everyone


def test_a_conclusion_lands_at_the_linked_place_or_at_the_house() -> None:
    policy = rules(rule("a", finds("wet", at="zone"), each="platform"))
    with Engine(policy) as engine:
        outcome = engine.run(JOB)
    assert outcome.atoms == {Atom("finding", "wet", "z1"), Atom("finding", "wet", "house")}


def test_supports_name_every_alternative_that_matched_and_what_it_read() -> None:
    policy = rules(
        *GROUND,
        rule(
            "a",
            each="zone",
            where=(("open_draft", ("yes", "no")),),
            any_=[FindingClause("draft-fails"), CheckClause("draft", ("fail",)), ManyClause("some", "room")],
            unless=[CarriedClause("balance")],
        ),
    )
    with Engine(policy) as engine:
        supports = engine.run(JOB).supports[Firing("a", "z1")]
    word, gate = ("word", "z1", "open_draft", "yes"), ("gate", "unless", 0)
    assert supports == (
        (word, gate, ("finding", "draft-fails", "z1")),
        (word, gate, ("verdict", "draft", "found", "z1", "fail")),
    )


def walked(*more: Rule, job: Facts = JOB) -> list[Walked]:
    policy = rules(*GROUND, *more)
    with Engine(policy) as engine:
        return [one for one in walk(policy, job, engine.run(job).atoms) if one.rule == "a"]


def test_the_walk_says_which_word_kept_a_rule_out() -> None:
    first, second = walked(rule("a", each="platform", where=(("lining", ("bare",)), ("moisture", ("unknown", "no")))))
    assert first.where_ok
    assert first.fired
    assert (second.rule, second.subject, second.fired, second.where_ok) == ("a", "p2", False, False)
    assert second.clauses == ()
    assert second.where == (("lining", "unknown"),)


def test_the_walk_tells_every_clause_and_what_it_read() -> None:
    (one,) = walked(
        rule(
            "a",
            when=[ManyClause("every", "zone", check="draft", is_=("fail",)), CheckClause("flow", ("close",))],
            any_=[CarriedClause("seal"), FindingClause("draft-fails")],
            unless=[ManyClause("some", "zone", line="test"), ManyClause("some", "room")],
        )
    )
    assert not one.fired
    assert [(clause.part, clause.index, clause.holds) for clause in one.clauses] == [
        ("when", 0, False),
        ("when", 1, True),
        ("any", 0, True),
        ("any", 1, False),
        ("unless", 0, True),
        ("unless", 1, False),
    ]
    assert [clause.reads for clause in one.clauses] == [
        (Read("verdict", ("draft", "found", "z2"), "pass"),),
        (Read("verdict", ("flow", "found", "house"), "close"),),
        (Read("carried", ("seal",), "present"),),
        (Read("finding", ("draft-fails", "house"), "absent"),),
        (Read("line", ("test", "z1"), "present"),),
        (),
    ]


def test_the_walk_says_that_a_link_is_absent() -> None:
    _, second = walked(rule("a", each="platform", when=[FindingClause("draft-fails", "zone")]))
    assert second.clauses[0].reads == (Read("word", ("p2", "zone"), "unknown"),)


def test_the_walk_says_which_records_were_found() -> None:
    asks = FactClause("zone", (("id", "zone"),), (("open_draft", ("no",)),))
    first, second = walked(rule("a", each="platform", when=[asks]))
    assert first.clauses[0].reads == (Read("word", ("z1", "open_draft"), "yes"),)
    assert second.clauses[0].reads == (Read("word", ("p2", "zone"), "unknown"),)


def test_a_difference_between_the_evaluators_is_a_fault_that_names_the_first() -> None:
    policy = rules(*GROUND)
    with Engine(policy) as engine:
        outcome = engine.run(JOB)
    other = facts(*(one for held in JOB.subjects.values() for one in held))
    with pytest.raises(EngineFault, match=r"only the engine fires rule `ground.draft` at `z1`") as caught:
        verify(outcome, policy, other)
    assert caught.value.code == "evaluators-differ"
    with pytest.raises(EngineFault) as caught:
        consistent(outcome, walk(policy, other, outcome.atoms))
    assert caught.value.code == "evaluators-differ"
