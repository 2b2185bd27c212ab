"""Each way in which a policy can hold safety looser is told, each way of tightening it stays quiet; held to full evaluation at the end.

Which way is looser is said by the policy itself where a value is called safer on one side. Of all else the oracle is the evaluation of
jobs: a safety rule that fired and fires no more.
"""

import random
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from random_edits import edited

from airwarrant.errors import AirwarrantError
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import read_job
from airwarrant.job.record import JobRecord
from airwarrant.made_jobs.made import made
from airwarrant.policy.compose import compose
from airwarrant.policy.history import blocks_of
from airwarrant.policy.model import CheckClause, FindingClause, Limit, Policy, Ref, Rule, Then, WhereClause
from airwarrant.policy.readers import readers_of
from airwarrant.replay.loosened import loosened
from airwarrant.rules.clauses import atom_name, checks_read, clauses_of
from airwarrant.shipped import shipped

_MARKET = "copper-basin"


@cache
def _policy() -> Policy:
    return compose(shipped("policies"), _MARKET, {})


def _with(section: str, name: str, policy: Policy | None = None, **changes: Any) -> Policy:
    policy = policy or _policy()
    held: Mapping[str, Any] = getattr(policy, section)
    return replace(policy, **{section: {**held, name: replace(held[name], **changes)}})


def _rule(name: str, **changes: Any) -> Policy:
    return _with("rules", name, **changes)


def _check(name: str, **changes: Any) -> Policy:
    return _with("checks", name, **changes)


def _value(name: str, times: float) -> Policy:
    return _with("parameters", name, value=float(_policy().parameters[name].value) * times)


def _row(name: str, key: str, times: float) -> Policy:
    rows = tuple((k, answer * times if k == key else answer) for k, answer in _policy().tables[name].rows)
    return _with("tables", name, rows=rows)


def _without(section: str, name: str) -> Policy:
    held: Mapping[str, Any] = getattr(_policy(), section)
    return replace(_policy(), **{section: {n: one for n, one in held.items() if n != name}})


def _then(rule: str, at: int, **changes: Any) -> Policy:
    then = list(_policy().rules[rule].then)
    then[at] = replace(then[at], **changes)
    return _rule(rule, then=tuple(then))


def _looser(a: Policy, b: Policy) -> list[str]:
    return [one.said for one in loosened(a, b) if one.fails]


def _parameter(name: str) -> Ref:
    return Ref("parameter", name)


#: A zone whose draft fails; roof work; a house with a gas service and no appliance listed.
_DRAFT, _FALLS, _GAS = "guard.draft", "guard.falls-roof", "cross.gas-without-appliance"
_SMALL = WhereClause((("form", ("split-attic",)),))


def _of(rule: str) -> Rule:
    return _policy().rules[rule]


_LOOSER = {
    "a wind value that no block calls safer": lambda: (_value("wind_most", 1.2), "wind_most"),
    "a narrower guard band": lambda: (_value("band_factor", 0.5), "band_factor"),
    "a smaller ± of a draft reading": lambda: (_row("plus_minus_pressure", "draft", 0.5), "plus_minus_pressure"),
    "a smaller doubt of a draft read in wind": lambda: (_value("wind_doubt", 0.5), "wind_doubt"),
    "what is too close to call passes": lambda: (_check("spillage", doubt="ignore"), "spillage"),
    "what is too close to call is only read again": lambda: (_check("spillage", doubt="retest"), "spillage"),
    "the limit itself passes": lambda: (_check("co-look", must_be="at most"), "co-look"),
    "the check is turned round": lambda: (_check("co-stop", must_be="above"), "co-stop"),
    "an estimated draft clears the zone": lambda: (_check("draft", needs=()), "draft"),
    "more than the limit": lambda: (
        _check("spillage", limits=(Limit(_parameter("spill_seconds"), more=Ref("quantity", "10 %", 10.0, "%")),)),
        "spillage",
    ),
    "the loosest of two limits": lambda: (
        _check(
            "spillage",
            limits=(Limit(_parameter("spill_seconds")), Limit(_parameter("spill_seconds_cold"))),
            choose="loosest_limit",
        ),
        "spillage",
    ),
    "a share above one": lambda: (_check("spillage", times=Ref("quantity", "2", 2.0, "1")), "spillage"),
    "another limit": lambda: (_check("spillage", limits=(Limit(_parameter("spill_seconds_cold")),)), "spillage"),
    "another reading": lambda: (_check("spillage", reading=Ref("field", "spill_cold")), "spillage"),
    "a check that is gone": lambda: (_without("checks", "spillage"), "spillage"),
    "a rule that is gone": lambda: (_without("rules", _DRAFT), _DRAFT),
    "a rule of less authority": lambda: (_rule(_DRAFT, authority="practice"), _DRAFT),
    "a rule that asks for more": lambda: (_rule(_DRAFT, when=(*_of(_DRAFT).when, FindingClause("leaky"))), _DRAFT),
    "a rule with an exception": lambda: (_rule(_DRAFT, unless=(FindingClause("leaky"),)), _DRAFT),
    "a rule with a further exception": lambda: (
        _rule(_FALLS, unless=(*_of(_FALLS).unless, FindingClause("leaky"))),
        _FALLS,
    ),
    "a rule of fewer houses": lambda: (_rule(_GAS, where=(*_of(_GAS).where, *_SMALL.where)), _GAS),
    "a rule of fewer words": lambda: (_rule(_DRAFT, where=(("open_draft", ("yes",)),)), _DRAFT),
    "a rule that hears fewer words": lambda: (_rule(_FALLS, when=(CheckClause("roof-height", ("fail",)),)), _FALLS),
    "one of two ways to hold is gone": lambda: (
        _rule("cross.lead-not-answered", any=_of("cross.lead-not-answered").any[:1]),
        "cross.lead-not-answered",
    ),
    "a conclusion that is gone": lambda: (_rule(_DRAFT, then=_of(_DRAFT).then[:-1]), _DRAFT),
    "a hold that waits until the work": lambda: (_then(_DRAFT, 2, when="during-work"), _DRAFT),
    "a hold of one task and no longer of a group": lambda: (_then(_DRAFT, 2, name="task:seal-ducts"), _DRAFT),
    "a line that is only recommended": lambda: (
        _then("scope.combustion-again", 0, tier="recommended"),
        "scope.combustion-again",
    ),
    "a target that no longer gates": lambda: (_then("accept.combustion", 0, gate=False), "accept.combustion"),
    "a lift of every zone's hold": lambda: (_then("guard.cure", 0, of=""), "guard.cure"),
    "a lift that is new": lambda: (
        _rule("find.leaky", then=(*_of("find.leaky").then, Then("lift", "draft", for_="seal-ducts"))),
        "find.leaky",
    ),
    "a task that is no longer held": lambda: (
        _with("tasks", "seal-ducts", groups=tuple(g for g in _policy().tasks["seal-ducts"].groups if g != "sealing")),
        "seal-ducts",
    ),
    "a value that is no longer locked": lambda: (_with("parameters", "co_stop", edit="company"), "co_stop"),
    "a value that no longer says what is safer": lambda: (_with("parameters", "co_stop", safer=""), "co_stop"),
    "a locked value that is gone": lambda: (_without("parameters", "co_stop"), "co_stop"),
    "a draft limit of one vent": lambda: (_row("draft_limit", "induced", 2.0), "draft_limit"),
}


@pytest.mark.parametrize("how", _LOOSER)
def test_each_way_of_loosening_is_told(how: str) -> None:
    looser, named = _LOOSER[how]()
    assert [one for one in _looser(_policy(), looser) if f"({named})" in one], loosened(_policy(), looser)


@pytest.mark.parametrize(
    ("how", "named"),
    [
        (lambda: _value("attic_path_most", 1.2), "attic_path_most"),
        (lambda: _row("duct_insulation", "attic", 0.8), "duct_insulation"),
        (lambda: _without("rules", "guard.attic-access"), "guard.attic-access"),
        (lambda: _check("crossover-support", must_be="above"), "crossover-support"),
    ],
)
def test_what_makes_law_act_in_fewer_cases_is_told_and_no_failure(how: Callable[[], Policy], named: str) -> None:
    said = loosened(_policy(), how())
    assert [one for one in said if f"({named})" in one.said]
    assert all(one.said.endswith("hold it against the edition in force") for one in said)
    assert not any(one.fails for one in said)


def test_a_stricter_value_of_law_stays_quiet() -> None:
    assert loosened(_policy(), _value("attic_path_most", 0.8)) == ()


def test_a_practice_rule_that_no_longer_widens_a_draft_reading_is_told() -> None:
    name = "trust.wind-zones"
    practice = _rule(name, authority="practice")
    gone = replace(practice, rules={n: rule for n, rule in practice.rules.items() if n != name})
    assert [one for one in _looser(practice, gone) if f"({name})" in one]


def test_a_reading_that_decides_a_safety_rule_and_is_taken_again_later_is_told() -> None:
    retest = _check("spillage", doubt="retest")
    late = _with("checks", "spillage", retest, retest_when="at-test-out")
    assert [one for one in _looser(retest, late) if "(spillage)" in one]
    assert loosened(late, retest) == ()
    default = _with("parameters", "doubt_when", retest, value="at-test-out")
    assert [one for one in _looser(retest, default) if "(spillage)" in one]


def test_a_new_finding_that_silences_a_safety_rule_is_told() -> None:
    excepted = _rule(_DRAFT, unless=(FindingClause("no-such-finding"),))
    found = replace(_of("find.leaky"), name="find.new", then=(Then("finding", "no-such-finding"),))
    more = replace(excepted, rules={**excepted.rules, "find.new": found})
    (said,) = loosened(excepted, more)
    assert "(find.new)" in said.said
    assert not said.fails


_TIGHTER = {
    "a wind value": lambda: _value("wind_most", 0.8),
    "a wider doubt of a draft read in wind": lambda: _value("wind_doubt", 1.2),
    "a wider ± of a draft reading": lambda: _row("plus_minus_pressure", "draft", 2.0),
    "a limit on its safer side": lambda: _value("co_leave", 0.8),
    "the limit itself fails": lambda: _check("spillage", must_be="below"),
    "what is too close to call fails": lambda: _check("co-look", doubt="against"),
    "less than the limit": lambda: _check(
        "spillage", limits=(Limit(_parameter("spill_seconds"), less=Ref("quantity", "10 %", 10.0, "%")),)
    ),
    "the strictest of two limits": lambda: _check(
        "spillage",
        limits=(Limit(_parameter("spill_seconds")), Limit(_parameter("spill_seconds_cold"))),
        choose="strictest_limit",
    ),
    "a share below one": lambda: _check("spillage", times=Ref("quantity", "0.5", 0.5, "1")),
    "a rule that asks for less": lambda: _rule("guard.co-look", when=_of("guard.co-look").when[:1]),
    "a rule without its exceptions": lambda: _rule("guard.look-before-sealing", unless=()),
    "a rule of more words": lambda: _rule(_DRAFT, where=()),
    "a rule that hears more words": lambda: _rule(_DRAFT, when=(CheckClause("draft", ("fail", "close")),)),
    "a further way to hold": lambda: _rule(
        "cross.lead-not-answered", any=(*_of("cross.lead-not-answered").any, FindingClause("leaky"))
    ),
    "a further conclusion": lambda: _rule(_DRAFT, then=(*_of(_DRAFT).then, Then("caution", "roof"))),
    "a hold that waits before the sale": lambda: _then("guard.damp-run", 0, when="before-sale"),
    "a lift that is gone": lambda: _rule("guard.cure", then=_of("guard.cure").then[1:]),
    "a new safety rule": lambda: replace(
        _policy(), rules={**_policy().rules, "guard.new": replace(_of(_DRAFT), name="guard.new")}
    ),
    "a task that is held besides": lambda: _with(
        "tasks", "balance-rooms", groups=(*_policy().tasks["balance-rooms"].groups, "pulls-on-zone")
    ),
    "a value that is locked now": lambda: _with("parameters", "wind_most", edit="locked"),
    "a value that says what is safer now": lambda: _with("parameters", "wind_most", safer="lower"),
    "a budget whose amount no safety rule hears": lambda: _value("return_budget", 1.5),
    "words alone": lambda: _rule(_DRAFT, title="Otherwise", stage="trust"),
    "a price": lambda: _value("gain_floor", 2.0),
}


@pytest.mark.parametrize("how", _TIGHTER)
def test_each_way_of_tightening_stays_quiet(how: str) -> None:
    assert loosened(_policy(), _TIGHTER[how]()) == ()


_UNCLEAR = {
    "a practice value below a finding that a safety rule reads": lambda: (
        _value("leakage_trigger", 1.2),
        "leakage_trigger",
    ),
    "a practice rule whose finding a safety rule reads": lambda: (
        _rule("find.return-leak", unless=(FindingClause("leaky"),)),
        "find.return-leak",
    ),
    "a figure made otherwise": lambda: (
        replace(
            _check("wind", reading=Ref("figure", "return_size")),
            figures={**_policy().figures, "return_size": replace(_policy().figures["return_size"], step="sum_of")},
        ),
        "return_size",
    ),
}


@pytest.mark.parametrize("how", _UNCLEAR)
def test_what_nobody_can_tell_is_told_apart(how: str) -> None:
    changed, named = _UNCLEAR[how]()
    before = _policy()
    if "figure" in how:
        before = _check("wind", reading=Ref("figure", "return_size"))
    said = loosened(before, changed)
    assert [one for one in said if f"({named})" in one.said]
    assert not any(one.fails for one in said)


@pytest.mark.parametrize("name", [n for n, p in sorted(_policy().parameters.items()) if p.edit == "locked"])
def test_every_locked_value_is_told_on_its_unsafe_side_and_not_on_the_other(name: str) -> None:
    unsafe = 1.1 if _policy().parameters[name].safer == "lower" else 0.9
    assert [one for one in _looser(_policy(), _value(name, unsafe)) if f"({name})" in one]
    assert not loosened(_policy(), _value(name, 1.0 / unsafe))


@pytest.mark.parametrize("name", [n for n, t in sorted(_policy().tables.items()) if t.edit == "locked"])
def test_every_row_of_a_locked_table_is_told_on_its_unsafe_side(name: str) -> None:
    table = _policy().tables[name]
    for at, (key, answer) in enumerate(table.rows):
        for moved in (answer - 0.5, answer + 0.5):
            rows = (*table.rows[:at], (key, moved), *table.rows[at + 1 :])
            told = bool(_looser(_policy(), _with("tables", name, rows=rows)))
            assert told == ((moved > answer) == (table.safer == "lower"))


@pytest.mark.parametrize("name", [n for n, r in sorted(_policy().rules.items()) if r.authority == "safety"])
def test_every_safety_rule_is_told_without_a_conclusion_and_with_an_exception(name: str) -> None:
    rule = _policy().rules[name]
    assert [one for one in _looser(_policy(), _without("rules", name)) if f"({name})" in one]
    for at, then in enumerate(rule.then):
        less = _rule(name, then=rule.then[:at] + rule.then[at + 1 :])
        assert bool(_looser(_policy(), less)) == (then.what != "lift"), then
    excepted = _rule(name, unless=(*rule.unless, FindingClause("no-such-finding")))
    assert _looser(_policy(), excepted)


def _records() -> list[JobRecord]:
    shown = [read_job(path) for path in sorted(shipped("scenarios").glob("job-*.toml")) if path.stem[4:].isdigit()]
    return [*shown, *(made(17, k, _MARKET).record() for k in range(1, 13))]


def _fired(evaluator: Evaluator, record: JobRecord) -> frozenset[tuple[str, str]]:
    """Safety rules that fired, with the subject; but for those that wait for a line of work, which practice may take out."""
    run = evaluator.run(record)
    waits = {
        name
        for name, rule in evaluator.policy.rules.items()
        if any((atom_name(clause) or ("", ""))[0] == "line" for _, _, clause in clauses_of(rule))
    }
    return frozenset((v.rule, v.subject) for v in run.votes if v.authority == "safety" and v.rule not in waits)


def _touches_safety(policy: Policy) -> bool:
    """Whether a safety rule, a check it hears or what `policy show` says such a check reads is otherwise than in the policy as it is."""
    own = {name for name, rule in _policy().rules.items() if rule.authority == "safety"}
    checks = {check for name in own for check, _ in checks_read(_policy().rules[name])}
    for section, held in blocks_of(_policy()).items():
        for name in held:
            if blocks_of(policy)[section].get(name) == held[name]:
                continue
            read = readers_of(_policy(), section, name)
            if (
                name in own | checks
                or (set(read.checks) & checks)
                or name == "band_factor"
                or name.startswith("plus_minus_")
            ):
                return True
    return False


def _edited(rng: random.Random) -> tuple[Policy, tuple[str, ...]]:
    """A random edit; nine in ten of something that safety reads."""
    policy, names = edited(_policy(), rng)
    near = rng.random() < 0.9
    while near and not _touches_safety(policy):
        policy, names = edited(_policy(), rng)
    return policy, names


@pytest.mark.parametrize("seed", range(3))
def test_no_job_loses_a_safety_rule_without_a_word(seed: int) -> None:
    rng = random.Random(seed)
    lost = 0
    with Evaluator(_policy(), detail=False) as before:
        known = [(record, _fired(before, record)) for record in rng.sample(_records(), 10)]
        for at in range(120):
            if at >= 30 and lost:
                break
            policy, names = _edited(rng)
            try:
                after = Evaluator(policy, detail=False)
            except AirwarrantError:
                continue
            with after:
                for record, fired in known if _touches_safety(policy) else rng.sample(known, 2):
                    try:
                        gone = fired - _fired(after, record)
                    except AirwarrantError:
                        continue
                    lost += bool(gone)
                    assert not gone or loosened(_policy(), policy), (names, gone)
    assert lost


@pytest.mark.parametrize(
    "name", ["wind_most", "wind_doubt", "instrument_doubt", "instrument_check_most", "band_factor"]
)
def test_a_value_is_looser_on_one_side_alone(name: str) -> None:
    sides = [bool(_looser(_policy(), _value(name, times))) for times in (0.8, 1.25)]
    assert sorted(sides) == [False, True]
