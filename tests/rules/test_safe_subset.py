"""What is handed to the engine stays inside the subset that was found safe; what would leave it is refused first."""

from random import Random

import pytest
from comparing import REFUSED
from strategies import random_facts, random_rules

from airwarrant.errors import PolicyError
from airwarrant.rules import durable
from airwarrant.rules.durable import DurableRule, Pattern, Ruleset, Statement, fnv_1a
from airwarrant.rules.engine import Engine
from airwarrant.rules.expand import expand


def test_sequential_ids_never_share_a_hash() -> None:
    ids = ["z0", "zz", *map(str, range(durable.FACTS_PER_STATE + 1))]
    assert len({fnv_1a(i) for i in ids}) == len(ids)


def test_what_is_compiled_stays_in_the_safe_subset(monkeypatch: pytest.MonkeyPatch) -> None:
    taken: list[dict[str, dict[str, object]]] = []
    given: list[str] = []
    real = durable._c

    class Watched:
        error = real.error
        delete_state = staticmethod(real.delete_state)
        delete_ruleset = staticmethod(real.delete_ruleset)
        start_action_for_state = staticmethod(real.start_action_for_state)
        complete_and_start_action = staticmethod(real.complete_and_start_action)

        @staticmethod
        def create_ruleset(name: str, text: str) -> int:
            taken.append(durable.json.loads(text))
            return int(real.create_ruleset(name, text))

        @staticmethod
        def assert_facts(handle: int, text: str) -> tuple[int, int]:
            given.extend(durable.json.dumps(fact) for fact in durable.json.loads(text))
            answer: tuple[int, int] = real.assert_facts(handle, text)
            return answer

        @staticmethod
        def assert_fact(handle: int, text: str) -> tuple[int, int]:
            given.append(text)
            answer: tuple[int, int] = real.assert_fact(handle, text)
            return answer

    monkeypatch.setattr(durable, "_c", Watched)
    for seed in range(60):
        random = Random(seed)
        try:
            with Engine(random_rules(random)) as engine:
                engine.run(random_facts(random))
        except PolicyError as error:
            assert {fault.code for fault in error.faults} <= REFUSED
    for form in taken:
        assert form.pop("zz") == {"all": [{"m": {"zz": 1}}], "pri": 60000}
        for rule in form.values():
            patterns = rule["all"]
            assert isinstance(patterns, list)
            assert 1 <= len(patterns) <= 6
            for number, pattern in enumerate(patterns):
                ((alias, term),) = pattern.items()
                first, *middle, last = term["$and"]
                assert alias == f"c{number}"
                assert list(term) == ["$and"]
                assert list(first) == ["k"]
                assert last == {"one": {"c0": "one"} if number else 1}
                joins = [value["c0"] for part in middle for value in part.values() if isinstance(value, dict)]
                assert len(joins) == (1 if number else 0)
                assert not {"id", "sid"} & {*joins, *(name for part in middle for name in part)}
                assert all(len(part) == 1 and not next(iter(part)).startswith("$") for part in middle)
    assert taken
    for text in given:
        fact = durable.json.loads(text)
        assert len(fact) > 1
        assert all(isinstance(value, str) or value == 1 for value in fact.values())


def test_rules_outside_the_safe_subset_are_refused_before_the_engine_sees_them() -> None:
    first = Pattern("a")
    wrong = [
        (DurableRule("r0", (first, Pattern("b", join="id"))),),
        (DurableRule("r0", (first, Pattern("b", join="sid"))),),
        (DurableRule("r0", (first, Pattern("b"))),),
        (DurableRule("r0", (Pattern("a", join="key"),)),),
        (DurableRule("r0", (first, *[Pattern(f"b{n}", join="key") for n in range(6)])),),
        (DurableRule("r0", (Pattern("a", (("costarring", "x"), ("liquid", "x"))),)),),
        # the same hash as the engine is given them, with their quotes escaped
        (DurableRule("r0", (Pattern("a", (('w:f=["a15fa","b"]', "x"), ('w:f=["a315e1","b"]', "x"))),)),),
        (DurableRule("r0", (Pattern("a", (("one", "x"),)),)),),
        (DurableRule("r0", (Pattern("a", (("w", "x" * 1001),)),)),),
        (DurableRule("r0", (Pattern("a", (("w", "\ud800"),)),)),),
        (DurableRule("r0", (first,)), DurableRule("r0", (first,))),
        tuple(DurableRule(f"r{n}", (first,)) for n in range(61)),
        tuple(DurableRule(f"r{n}", (Pattern(f"k{n}"),)) for n in range(401)),
        (DurableRule("zz", (first,)),),
        (DurableRule("r0", ()),),
    ]
    for rules in wrong:
        with pytest.raises(durable.EngineFault) as caught:
            Ruleset(rules)
        assert caught.value.code == "unsafe-rule"


def test_facts_outside_the_safe_subset_are_refused_before_the_engine_sees_them() -> None:
    wrong = [
        Statement("a", "k", (("unread", "x"),)),
        Statement("a", "k", (("w", "x"), ("w", "y"))),
        Statement("a", "k", (("w", "x" * 1001),)),
        Statement("a", "\udfff"),
    ]
    with Ruleset([DurableRule("r0", (Pattern("a", (("w", "x"),)),))]) as rules:
        for fact in wrong:
            with pytest.raises(durable.EngineFault) as caught:
                rules.run([fact], lambda name, matched: (), 1)
            assert caught.value.code == "unsafe-fact"
        with pytest.raises(durable.EngineFault):
            rules.run([Statement("a", str(n)) for n in range(durable.FACTS_PER_STATE + 1)], lambda n, m: (), 1)


def test_no_variant_asks_one_kind_twice() -> None:
    for seed in range(200):
        for name, rule in random_rules(Random(seed)).items():
            try:
                variants = expand(name, rule)
            except PolicyError:
                continue
            for variant in variants:
                kinds = [pattern.kind for pattern in variant.patterns]
                assert len(set(kinds)) == len(kinds)
