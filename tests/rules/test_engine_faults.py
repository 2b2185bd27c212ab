"""Whatever the engine does that must not happen surfaces as a fault with a code."""

from collections.abc import Callable, Iterable
from types import SimpleNamespace

import pytest

from airwarrant.errors import EngineFault
from airwarrant.rules import durable
from airwarrant.rules.durable import DurableRule, Pattern, Ruleset, Statement

FACTS = (Statement("a", "k0"), Statement("a", "k1"))
RULES = (DurableRule("r0", (Pattern("a"),)), DurableRule("r1", (Pattern("b"),)))


def nothing(rule: str, matched: tuple[Statement, ...]) -> Iterable[Statement]:
    return ()


def code_of(call: Callable[[], object]) -> str:
    with pytest.raises(EngineFault) as caught:
        call()
    return caught.value.code


def engine_with(**changed: object) -> SimpleNamespace:
    names = [name for name in dir(durable._c) if not name.startswith("_")]
    return SimpleNamespace(**{name: getattr(durable._c, name) for name in names} | changed)


def test_an_exception_in_a_conclusion_is_a_fault_and_keeps_its_cause() -> None:
    def broken(rule: str, matched: tuple[Statement, ...]) -> Iterable[Statement]:
        raise KeyError("lost")

    with Ruleset(RULES) as rules:
        with pytest.raises(EngineFault) as caught:
            rules.run(FACTS, broken, 10)
        assert caught.value.code == "conclusion-failed"
        assert isinstance(caught.value.__cause__, KeyError)


def test_an_exception_inside_a_lazy_conclusion_is_a_fault_too() -> None:
    def broken(rule: str, matched: tuple[Statement, ...]) -> Iterable[Statement]:
        yield Statement("b", "k0")
        raise ValueError("late")

    with Ruleset(RULES) as rules:
        assert code_of(lambda: rules.run(FACTS, broken, 10)) == "conclusion-failed"


@pytest.mark.parametrize(
    "bad",
    ['{"id":"1","k":"a","v":1e-05}', '{"id":"1","k":"a","v":Infinity}', '{"id":"1","k":"a",', "hello {"],
)
@pytest.mark.parametrize("at", [0, 1, 2])
def test_a_dropped_fact_is_a_fault(monkeypatch: pytest.MonkeyPatch, bad: str, at: int) -> None:
    with Ruleset(RULES) as rules:
        real = durable._c.assert_facts

        def spoil(handle: int, text: str) -> object:
            first, *middle, last = text[1:-1].replace("},{", "}\n{").split("\n")
            return real(handle, "[" + ",".join([first, *middle[:at], bad, *middle[at:], last]) + "]")

        with monkeypatch.context() as patched:
            patched.setattr(durable, "_c", engine_with(assert_facts=spoil))
            assert code_of(lambda: rules.run(FACTS, nothing, 10)) == "facts-dropped"
        rules.run(FACTS, nothing, 2)


def test_a_doubled_id_is_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    with Ruleset(RULES) as rules:
        real = durable._c.assert_fact
        repeat = engine_with(assert_fact=lambda handle, text: real(handle, text.replace('"id":"2"', '"id":"0"')))
        monkeypatch.setattr(durable, "_c", repeat)
        assert code_of(lambda: rules.run(FACTS, lambda rule, matched: [Statement("b", "k0")], 10)) == "duplicate-id"


def test_more_firings_than_there_can_be_are_a_fault() -> None:
    with Ruleset(RULES) as rules:
        assert code_of(lambda: rules.run(FACTS, nothing, 1)) == "runaway"


def test_a_chain_without_end_is_a_fault() -> None:
    with Ruleset(RULES) as rules:
        numbers = iter(range(10**6))
        again = lambda rule, matched: [Statement("b", f"k{next(numbers)}")]  # noqa: E731
        assert code_of(lambda: rules.run(FACTS, again, 100)) == "runaway"
        assert code_of(lambda: rules.run(FACTS, again, 10**6)) == "runaway"
        rules.run(FACTS, nothing, 2)


def test_an_error_of_the_engine_is_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*ignored: object) -> object:
        raise durable._c.error("Could not, error code: 303")

    with Ruleset(RULES) as rules:
        for name in ("assert_facts", "start_action_for_state", "complete_and_start_action"):
            with monkeypatch.context() as patched:
                patched.setattr(durable, "_c", engine_with(**{name: fails}))
                assert code_of(lambda: rules.run(FACTS, nothing, 10)) == "engine-refused"
            rules.run(FACTS, nothing, 2)
    with monkeypatch.context() as patched:
        patched.setattr(durable, "_c", engine_with(create_ruleset=fails))
        assert code_of(lambda: Ruleset(RULES)) == "engine-refused"


@pytest.mark.parametrize("answer", [3, 303, 312])
def test_an_unexpected_answer_of_the_engine_is_a_fault(monkeypatch: pytest.MonkeyPatch, answer: int) -> None:
    with Ruleset(RULES) as rules:
        real = durable._c.assert_facts
        odd = engine_with(assert_facts=lambda handle, text: (answer, real(handle, text)[1]))
        monkeypatch.setattr(durable, "_c", odd)
        assert code_of(lambda: rules.run(FACTS, nothing, 10)) == "engine-refused"


def test_a_closed_or_running_ruleset_is_refused() -> None:
    rules = Ruleset(RULES)
    inner: list[str] = []

    def nested(rule: str, matched: tuple[Statement, ...]) -> Iterable[Statement]:
        inner.append(code_of(lambda: rules.run(FACTS, nothing, 10)))
        return ()

    rules.run(FACTS, nested, 10)
    assert inner == ["engine-refused", "engine-refused"]
    rules.close()
    rules.close()
    assert code_of(lambda: rules.run(FACTS, nothing, 10)) == "engine-refused"
