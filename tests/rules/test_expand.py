"""Rules become plain conjunctions, one an alternative, packed into small rulesets."""

import pytest
from writing import facts, finds, rule, rules

from airwarrant.errors import PolicyError
from airwarrant.policy.model import CheckClause, Clause, FactClause, FindingClause, Rule, WhereClause
from airwarrant.rules.chunks import pack
from airwarrant.rules.durable import FIELDS_PER_RULESET, KINDS_PER_RULESET, PATTERNS_PER_KIND, PATTERNS_PER_RULE
from airwarrant.rules.engine import Engine
from airwarrant.rules.expand import expand
from airwarrant.rules.facts import Subject
from airwarrant.rules.reference import evaluate
from airwarrant.rules.strata import components


def codes(one: Rule) -> list[str]:
    with pytest.raises(PolicyError) as caught:
        expand(one.name, one)
    return [fault.code for fault in caught.value.faults]


def test_alternatives_add_and_lists_of_words_do_not() -> None:
    one = rule(
        "a",
        where=(("use", ("bedroom", "living", "bath")),),
        when=[CheckClause("flow", ("fail", "close"))],
        any_=[CheckClause("draft", ("fail",)), CheckClause("leak", ("fail", "unmeasured"))],
    )
    assert len(expand("a", one)) == 2


def test_lists_of_words_are_as_long_as_they_like_and_fire_for_each_of_them() -> None:
    use, floor, wide = (tuple(f"{name}{n}" for n in range(30)) for name in ("u", "f", "w"))
    policy = rules(
        rule("a", finds("x"), each="room", where=(("use", use), ("floor", floor))),
        rule("b", finds("y"), each="room", where=(("use", use[:2]),), when=[CheckClause("flow", ("fail", "close"))]),
        rule("c", finds("z"), each="room", when=[FactClause("register", (("id", "register"),), (("size", wide),))]),
    )
    rooms = [Subject("room", f"r{n}", {"use": f"u{n}", "floor": f"f{n}"}, {"register": f"s{n}"}) for n in range(32)]
    sizes = [Subject("register", f"s{n}", {"size": f"w{n}"}) for n in range(32)]
    words = {("flow", "found", f"r{n}"): ("pass", "fail", "close", "unmeasured")[n % 4] for n in range(32)}
    job = facts(*rooms, *sizes, verdicts=words)
    with Engine(policy) as engine:
        outcome = engine.run(job)
    assert (outcome.firings, outcome.atoms) == evaluate(policy, job)
    assert sum(firing.rule == "a" for firing in outcome.firings) == 30
    read = {one for firing, several in outcome.supports.items() if firing.rule == "a" for (*_, one) in several[0]}
    assert read == {*use, *floor}


def test_clauses_that_contradict_each_other_leave_nothing_to_fire() -> None:
    never: list[list[Clause]] = [
        [WhereClause((("use", ("bath",)),)), WhereClause((("use", ("hall",)),))],
        [CheckClause("flow", ("pass",)), CheckClause("flow", ("fail",))],
    ]
    for when in never:
        assert expand("a", rule("a", when=when)) == ()


def test_many_checks_fit_one_rule() -> None:
    checks = [CheckClause(f"check-{n}", ("pass",)) for n in range(6)]
    one = rule("a", finds("f"), when=checks, any_=[CheckClause("other", ("fail",))], unless=[FindingClause("g")])
    assert all(len(variant.patterns) <= PATTERNS_PER_RULE for variant in expand("a", one))
    good = {(f"check-{n}", "found", "house"): "pass" for n in range(6)} | {("other", "found", "house"): "fail"}
    with Engine(rules(one)) as engine:
        assert len(engine.run(facts(verdicts=good)).firings) == 1
        for name in good:
            assert engine.run(facts(verdicts={**good, name: "close"})).firings == ()


def test_more_findings_than_one_conjunction_holds_are_refused() -> None:
    findings = [FindingClause(f"f{n}") for n in range(6)]
    assert len(expand("a", rule("a", when=findings[:5]))) == 1
    assert codes(rule("a", when=findings)) == ["too-many-clauses"]
    assert codes(rule("a", when=findings[:5], unless=[FindingClause("g")])) == ["too-many-clauses"]


def test_rules_beyond_one_ruleset_are_packed_into_several_and_fire_alike() -> None:
    policy = rules(*(rule(f"r{n:03}", finds(f"f{n % 7}"), when=[CheckClause("flow", ("fail",))]) for n in range(150)))
    more = rules(*(rule(f"s{n:03}", when=[FindingClause(f"f{n % 7}")]) for n in range(150)))
    both = {**policy, **more}
    variants = {name: expand(name, one) for name, one in both.items()}
    chunks = pack(components(both), variants, both)
    assert len(chunks) > 3
    for chunk in chunks:
        kinds = [pattern.kind for variant in chunk for pattern in variant.patterns]
        assert len(set(kinds)) <= KINDS_PER_RULESET
        assert max(map(kinds.count, set(kinds))) <= PATTERNS_PER_KIND
    job = facts(verdicts={("flow", "found", "house"): "fail"})
    with Engine(both) as engine:
        outcome = engine.run(job)
    assert (outcome.firings, outcome.atoms) == evaluate(both, job)
    assert len(outcome.firings) == 300


def test_lists_of_words_beyond_one_ruleset_are_packed_into_several_and_fire_alike() -> None:
    kinds = ("room", "register", "grille", "duct", "elbow", "plenum", "leak", "filter")
    policy = rules(
        *(
            rule(
                f"r{n:03}",
                finds(f"f{n}"),
                each=kinds[n % 8],
                where=(("a", (f"w{n}", "x")), ("b", (f"w{n}", "y"))),
            )
            for n in range(240)
        )
    )
    chunks = pack(components(policy), {name: expand(name, one) for name, one in policy.items()}, policy)
    for chunk in chunks:
        fields = {field for variant in chunk for pattern in variant.patterns for field in pattern.fields}
        assert len(fields) <= FIELDS_PER_RULESET
    assert len(chunks) > 1
    job = facts(*(Subject(kind, f"{kind}-1", {"a": "x", "b": f"w{n}"}) for n, kind in enumerate(kinds)))
    with Engine(policy) as engine:
        outcome = engine.run(job)
    assert (outcome.firings, outcome.atoms) == evaluate(policy, job)
    assert len(outcome.firings) == len(kinds)


def test_a_word_listed_twice_is_listed_once() -> None:
    once, twice = (expand("a", rule("a", when=[CheckClause("flow", words)])) for words in (("fail",), ("fail", "fail")))
    assert once == twice


def test_a_consumer_never_runs_before_its_producer() -> None:
    policy = rules(
        *(rule(f"z{n:03}", finds("f"), when=[CheckClause("flow", ("fail",))]) for n in range(70)),
        *(rule(f"a{n:03}", when=[FindingClause("f")]) for n in range(70)),
    )
    variants = {name: expand(name, one) for name, one in policy.items()}
    chunks = pack(components(policy), variants, policy)
    last = max(n for n, chunk in enumerate(chunks) for variant in chunk if variant.rule.startswith("z"))
    first = min(n for n, chunk in enumerate(chunks) for variant in chunk if variant.rule.startswith("a"))
    assert last <= first


def test_a_ring_too_large_for_one_ruleset_is_refused() -> None:
    policy = rules(*(rule(f"r{n:02}", finds("f"), when=[FindingClause("f")]) for n in range(61)))
    with pytest.raises(PolicyError) as caught:
        Engine(policy)
    assert [fault.code for fault in caught.value.faults] == ["group-too-large"]


def test_one_verdict_may_serve_two_clauses() -> None:
    one = rule(
        "a",
        finds("f"),
        when=[CheckClause("flow", ("fail", "close")), CheckClause("flow", ("fail",), target="house")],
    )
    with Engine(rules(one)) as engine:
        assert len(engine.run(facts(verdicts={("flow", "found", "house"): "fail"})).firings) == 1
        assert engine.run(facts(verdicts={("flow", "found", "house"): "close"})).firings == ()


def test_words_that_look_like_anything_reach_the_engine_unharmed() -> None:
    for word in ("1e-05", 'a"b\\c', "Größe 🏠", "", "}{", '"c1":{"id":"0"', "true"):
        policy = rules(rule("a", finds("f"), each="room", where=(("use", (word,)),)))
        job = facts(Subject("room", word or "empty", {"use": word}), Subject("room", "other", {"use": "x" + word}))
        with Engine(policy) as engine:
            outcome = engine.run(job)
        assert (outcome.firings, outcome.atoms) == evaluate(policy, job)
        assert [firing.subject for firing in outcome.firings] == [word or "empty"]
