"""Cases at every limit, as they are on file: each limit has its own, and one of them notices when it moves by one step.

The words expected stand in the files of `policies/cases/limits`, which no test writes; `test_shipped_cases` runs them. Here limits are
moved, and the short way to a word is held to the whole evaluation.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from airwarrant.desks.cases import CaseRunner
from airwarrant.desks.limit_cases import LimitCases, LimitFile, limit_cases
from airwarrant.desks.limit_files import edited, marked, write_limits
from airwarrant.evaluate import Evaluator
from airwarrant.job.dictionary import KINDS
from airwarrant.job.lookup import subjects
from airwarrant.job.record import JobRecord
from airwarrant.judged import Judged
from airwarrant.policy.cases import LIMITS, Case, read_cases
from airwarrant.policy.model import CheckClause, Limit, Parameter, Policy, Ref, Then
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.verdict import Verdict
from airwarrant.units import UNITS
from jobs import POLICIES

#: Checks of which no number of a record comes to the limit: what was predicted is the limit, the network gives the reading, a word
#: does, the limit moves with the number, or it is the end of what a record may hold. `test_checks_by_hand` holds what it can.
NO_CASE = {
    "airflow-over-expected", "airflow-under-expected", "leakage-over-expected", "power-over-expected", "return-over-expected",
    "room-over-expected", "room-under-expected", "supply-over-expected",
    "hood", "readings-agree", "return-over-clean", "code-one-of-several", "altitude-known",
}  # fmt: skip
#: Steps of its own decimals that a limit is moved: readings are round, and a share of one is not finer than some steps.
STEPS = (1, 2, 5, 10)
#: Of two values that make the same limit, the looser moved still further off: the other governs. And bends are counted whole.
UNNOTICED = {"hot_room_air in clay-hollow, up", "code_return_bends in juniper-sill, up"}


@dataclass(frozen=True)
class Made:
    """A case with its record, policy and what its check says."""

    case: Case
    record: JobRecord
    evaluator: Evaluator

    @property
    def asked(self) -> tuple[str, str, str]:
        return self.case.expect[0].name, "found", self.case.expect[0].place

    def verdict(self, policy: Policy) -> Verdict:
        judged = Judged(Prepared(policy), self.record, subjects(self.record, jurisdiction_known=True), {}, {})
        return judged.one(self.asked, {})


@pytest.fixture(scope="module")
def runner() -> Iterator[CaseRunner]:
    with CaseRunner([POLICIES]) as made:
        yield made


@pytest.fixture(scope="module")
def made(runner: CaseRunner) -> tuple[Made, ...]:
    cases = [case for case in read_cases(POLICIES) if case.document.file.startswith(LIMITS)]
    return tuple(Made(case, runner.record(case), runner.start(case.start, runner.market(case))[1]) for case in cases)


def test_every_check_has_cases_at_its_limit_or_is_named_here(made: tuple[Made, ...]) -> None:
    every = {name for one in made for name in one.evaluator.policy.checks}
    assert every - {one.case.expect[0].name for one in made} == NO_CASE


def test_every_limit_has_a_case_on_either_side(made: tuple[Made, ...]) -> None:
    words: dict[tuple[str, object], set[str]] = {}
    for one in made:
        verdict = one.verdict(one.evaluator.policy)
        if verdict.limit is not None:
            words.setdefault((one.case.expect[0].name, _rests(verdict)), set()).add(verdict.word)
    assert {key for key, said in words.items() if not {"pass", "fail"} <= said} == set()


def test_a_limit_that_moves_by_one_step_is_noticed_by_a_case(made: tuple[Made, ...]) -> None:
    unnoticed = []
    limits = {one for case in made for one in _limit_values(case)}
    for market, name in sorted(limits):
        of = [
            one
            for one in made
            if one.evaluator.policy.market.name == market and (market, name) in set(_limit_values(one))
        ]
        policy = of[0].evaluator.policy
        for sign in (1, -1):
            if not any(_notices(of, moved) for moved in _moved(policy, policy.parameters[name], sign, of)):
                unnoticed.append(f"{name} in {market}, {'up' if sign > 0 else 'down'}")
    assert len(limits) > 100
    assert set(unnoticed) == UNNOTICED


def test_the_short_way_to_a_word_comes_to_what_the_whole_evaluation_says(made: tuple[Made, ...]) -> None:
    for one in made[::40]:
        check, time, place = one.asked
        short = one.evaluator.found(one.record, [(check, place)])
        if short is not None:
            assert short[check, "found", place] == one.evaluator.run(one.record).verdicts[check, time, place]


def test_what_only_the_network_tells_has_no_short_way(made: tuple[Made, ...]) -> None:
    one = made[0]
    assert one.evaluator.found(one.record, [("readings-agree", "house")]) is None
    assert one.evaluator.found(one.record, [("room-flow", "bed-1")]) is None  # what readings disagree widens it


def test_a_limit_out_of_reach_under_one_market_and_in_reach_under_the_next_has_its_cases(tmp_path: Path) -> None:
    market = (POLICIES / "markets/fog-harbor.toml").read_text()
    roomy = market.replace('"companies/demo-company"]', '"companies/demo-company", "companies/roomy"]')
    # No record holds a return static of more than 2 in. w.c.
    limit = '[policy]\ntitle = "Roomy"\nreview_by = 2027-01-01\n[parameter.return_budget]\nvalue = 5\nbasis = { kind = "demo" }\n'
    for name, text in (
        ("markets/a-roomy.toml", roomy),
        ("markets/b-plain.toml", market),
        ("companies/roomy/2026-01-01/limits.toml", limit),
    ):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    found = limit_cases([tmp_path, POLICIES])
    assert "return-static" not in {one.check for one in found.unreached}
    assert any('verdict = "return-static"' in one.text for one in found.files)


def _found(text: str) -> LimitCases:
    return LimitCases((LimitFile(f"{LIMITS}/trade-checks.toml", "trade", text, 1),))


def test_a_file_edited_by_hand_is_left_and_replaced_only_when_asked(tmp_path) -> None:  # type: ignore[no-untyped-def]
    def write(text: str, *, replace: bool = False) -> str:
        (one,) = write_limits(tmp_path, _found(text), ["trade"], replace=replace)
        return one.how

    path = tmp_path / LIMITS / "trade-checks.toml"
    assert [write("a\n"), write("a\n"), write("b\n")] == ["new", "same", "changed"]
    path.write_text(path.read_text().replace("b\n", "mine\n"))
    assert (write("c\n"), path.read_text().endswith("mine\n")) == ("left", True)
    assert (write("c\n", replace=True), path.read_text()) == ("replaced", marked("c\n"))


def test_a_file_without_the_mark_was_written_by_somebody() -> None:
    assert edited('[cases]\ntitle = "Mine"\n')
    assert not edited(marked('[cases]\ntitle = "Mine"\n'))


def test_no_file_is_written_for_a_layer_that_was_not_asked_for(tmp_path) -> None:  # type: ignore[no-untyped-def]
    assert write_limits(tmp_path, _found("a\n"), ["regions/cold"], replace=False) == ()
    assert not (tmp_path / LIMITS).exists()


def test_the_files_on_disk_are_as_they_were_written() -> None:
    assert [path.name for path in (POLICIES / LIMITS).glob("*.toml") if edited(path.read_text())] == []


def _rests(verdict: Verdict) -> object:
    assert verdict.limit is not None
    return tuple((leaf.name, leaf.row) for leaf in verdict.limit.leaves()), verdict.limit.value


def _limit_values(one: Made) -> tuple[tuple[str, str], ...]:
    verdict = one.verdict(one.evaluator.policy)
    leaves = verdict.limit.leaves() if verdict.limit is not None else ()
    return tuple((one.evaluator.policy.market.name, leaf.name) for leaf in leaves if leaf.form == "parameter")


def _moved(policy: Policy, value: Parameter, sign: int, of: list[Made]) -> Iterator[Policy]:
    """The policy with a value moved as little as makes a limit another at its decimals."""
    for steps in STEPS:
        moved = replace(value, value=float(value.value) + sign * steps * 10.0 ** -UNITS[value.unit].decimals)
        parameters: Mapping[str, Parameter] = {**policy.parameters, value.name: moved}
        yield replace(policy, parameters=parameters)


def _notices(of: list[Made], policy: Policy) -> bool:
    return any(one.verdict(policy).word != one.case.expect[0].is_ for one in of)


def test_what_a_figure_of_the_network_widens_has_no_short_way_either(made: tuple[Made, ...]) -> None:
    one = made[0]
    policy = one.evaluator.policy
    unit = KINDS["house"].fields["conflict"].unit
    figure = replace(
        policy.figures["return_size"],
        name="conflicting",
        each="house",
        unit=unit,
        step="size_of",
        refs=(Ref("field", "conflict"),),
    )
    check = replace(
        policy.checks["readings-agree"],
        name="figure-agrees",
        reading=Ref("figure", "conflicting"),
        limits=(Limit(Ref("quantity", "0", 0.0, unit)),),
    )
    rule = replace(
        next(rule for rule in policy.rules.values() if any(then.what == "doubt" for then in rule.then)),
        name="doubt.figure",
        each="room",
        where=(),
        when=(CheckClause("figure-agrees", ("fail",), "found", "house"),),
        any=(),
        unless=(),
        then=(Then("doubt", "flow", to=Ref("quantity", "50 %", 50.0, "%")),),
    )
    others = {name: held for name, held in policy.rules.items() if not any(then.what == "doubt" for then in held.then)}
    widened = replace(
        policy,
        figures={**policy.figures, figure.name: figure},
        checks={**policy.checks, check.name: check},
        rules={**others, rule.name: rule},
    )
    with Evaluator(widened, detail=False) as evaluator:
        assert evaluator.found(one.record, [("room-flow", "bed-1")]) is None
