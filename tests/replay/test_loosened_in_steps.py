"""Ways in which two changes together, or a change below practice, hold safety looser; each with its counterpart that stays quiet.

What must be told is worked out by hand from what the two policies make a rule do: a limit that is five times as high is met more often,
a finding that a rule is silenced by and that stands more often silences it more often.
"""

from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from airwarrant.policy.compose import compose
from airwarrant.policy.model import CheckClause, FindingClause, Limit, Named, Parameter, Policy, Ref, Rule, Then
from airwarrant.replay.followed import Looser
from airwarrant.replay.loosened import loosened
from airwarrant.rules.clauses import checks_read
from airwarrant.shipped import shipped


@cache
def _policy() -> Policy:
    return compose(shipped("policies"), "copper-basin", {})


def _with(policy: Policy, section: str, name: str, **changes: Any) -> Policy:
    held = getattr(policy, section)
    return replace(policy, **{section: {**held, name: replace(held[name], **changes)}})


def _and(policy: Policy, section: str, *blocks: Named) -> Policy:
    return replace(policy, **{section: {**getattr(policy, section), **{block.name: block for block in blocks}}})


def _of(rule: str, policy: Policy | None = None) -> Rule:
    return (policy or _policy()).rules[rule]


def _parameter(like: str, name: str, value: float, unit: str) -> Parameter:
    """A value of the company's, of which nothing says which side is safer."""
    return replace(_policy().parameters[like], name=name, title=name, value=value, unit=unit, safer="", edit="company")


def _naming(name: str, said: tuple[Looser, ...]) -> list[str]:
    return [one.said for one in said if f"({name})" in one.said]


# ------------------------------------------------------------------------------------------------ limits that move in two steps


def _spillage(policy: Policy, **changes: Any) -> Policy:
    return _with(policy, "checks", "spillage", **changes)


def _to_another(times: float) -> tuple[Policy, Policy]:
    """The spillage check is held to another value of the same amount, which is made larger in the same step."""
    known = _policy().parameters["spill_seconds"]
    a = _and(_policy(), "parameters", _parameter("wind_most", "other_seconds", float(known.value), known.unit))
    moved = _with(a, "parameters", "other_seconds", value=float(known.value) * times)
    return a, _spillage(moved, limits=(Limit(Ref("parameter", "other_seconds")),))


def test_a_check_moved_to_another_value_that_is_raised_in_the_same_step_is_told_once() -> None:
    (said,) = loosened(*_to_another(5.0))
    assert "(spillage)" in said.said
    assert said.fails


def test_a_check_moved_to_another_value_that_is_lowered_stays_quiet() -> None:
    assert loosened(*_to_another(0.5)) == ()


def _share(value: float) -> tuple[Policy, Policy]:
    a = _and(_policy(), "parameters", _parameter("wind_most", "share", 1.0, "1"))
    return a, _spillage(_with(a, "parameters", "share", value=value), times=Ref("parameter", "share"))


def test_a_share_of_a_limit_is_valued_by_the_policy_that_has_it() -> None:
    (said,) = loosened(*_share(10.0))
    assert "(spillage)" in said.said
    assert said.fails
    assert loosened(*_share(0.5)) == ()


def _less(value: float) -> tuple[Policy, Policy]:
    """A tenth less than the limit becomes a percentage by a value, which moves in the same step."""
    a = _and(_policy(), "parameters", _parameter("wind_most", "percent_less", 10.0, "%"))
    base = Ref("parameter", "spill_seconds")
    a = _spillage(a, limits=(Limit(base, less=Ref("quantity", "10 %", 10.0, "%")),))
    b = _with(a, "parameters", "percent_less", value=value)
    return a, _spillage(b, limits=(Limit(base, less=Ref("parameter", "percent_less")),))


def _more(value: float) -> tuple[Policy, Policy]:
    a = _and(_policy(), "parameters", _parameter("wind_most", "percent_more", 10.0, "%"))
    base = Ref("parameter", "spill_seconds")
    a = _spillage(a, limits=(Limit(base, more=Ref("quantity", "10 %", 10.0, "%")),))
    b = _with(a, "parameters", "percent_more", value=value)
    return a, _spillage(b, limits=(Limit(base, more=Ref("parameter", "percent_more")),))


def test_what_is_taken_off_or_added_to_a_limit_is_valued_by_the_policy_that_has_it() -> None:
    for looser in (_less(5.0), _more(30.0)):
        (said,) = loosened(*looser)
        assert "(spillage)" in said.said
        assert said.fails
    assert loosened(*_less(20.0)) == ()
    assert loosened(*_more(5.0)) == ()


def test_a_value_that_is_raised_under_a_check_of_another_text_is_told_once() -> None:
    known = _policy().parameters["spill_seconds"]
    a = _and(_policy(), "parameters", _parameter("wind_most", "other_seconds", float(known.value), known.unit))
    a = _spillage(a, limits=(Limit(Ref("parameter", "other_seconds")),))
    raised = _with(a, "parameters", "other_seconds", value=float(known.value) * 2.0)
    tenth = Limit(Ref("parameter", "other_seconds"), less=Ref("quantity", "10 %", 10.0, "%"))
    (said,) = loosened(a, _spillage(raised, limits=(tenth,)))
    assert said.fails
    half = Limit(Ref("parameter", "other_seconds"), less=Ref("quantity", "60 %", 60.0, "%"))
    assert loosened(a, _spillage(raised, limits=(half,))) == ()


# ------------------------------------------------------------------------------------------------ tables, rights


def _hears_unmeasured(policy: Policy) -> Policy:
    """A draft that no limit judges counts against the zone as one that fails."""
    (draft,) = (clause for clause in _of("guard.draft").when if isinstance(clause, CheckClause))
    return _with(policy, "rules", "guard.draft", when=(replace(draft, is_=("fail", "unmeasured")),))


def _rows(policy: Policy, name: str, *rows: tuple[str, float]) -> Policy:
    return _with(policy, "tables", name, rows=rows)


def test_an_answer_where_a_table_that_says_its_safer_side_had_none_is_told() -> None:
    first, *others = _policy().tables["draft_limit"].rows
    short = _rows(_hears_unmeasured(_policy()), "draft_limit", *others)
    gained = _rows(short, "draft_limit", (str(first[0]), -60.0), *others)
    (said,) = loosened(short, gained)
    assert "(draft_limit)" in said.said
    assert said.fails


def test_such_an_answer_where_no_safety_rule_hears_what_is_unmeasured_stays_quiet() -> None:
    first, *others = _policy().tables["draft_limit"].rows
    short = _rows(_policy(), "draft_limit", *others)
    deaf = {
        name: rule
        for name, rule in short.rules.items()
        if name == "guard.draft" or "draft" not in {*(check for check, _ in checks_read(rule)), *_targets(rule)}
    }
    short = replace(short, rules=deaf)
    assert loosened(short, _rows(short, "draft_limit", first, *others)) == ()


def _targets(rule: Rule) -> set[str]:
    return {then.name for then in rule.then if then.what == "target"}


def _right(policy: Policy, rule: str, edit: str) -> Policy:
    keys = _of(rule).keys
    return _with(policy, "rules", rule, keys={**keys, "edit": replace(keys["edit"], value=edit)})


def test_a_safety_rule_that_is_no_longer_locked_is_told() -> None:
    (said,) = loosened(_policy(), _right(_policy(), "guard.draft", "company"))
    assert "(guard.draft) is no longer locked" in said.said
    assert said.fails


def test_a_safety_rule_that_is_locked_now_stays_quiet() -> None:
    assert loosened(_right(_policy(), "guard.draft", "company"), _policy()) == ()
    assert loosened(_policy(), _right(_policy(), "find.leaky", "job")) == ()


# ------------------------------------------------------------------------------------------------ what widens a reading


def _retest() -> Policy:
    return _with(_policy(), "checks", "draft", doubt="retest")


def _widens(where: tuple[tuple[str, tuple[str, ...]], ...] = ()) -> Rule:
    """A practice rule that makes the ± of every draft reading ten times as wide."""
    tenfold = Then("doubt", "draft", to=Ref("quantity", "900 %", 900.0, "%"))
    like = _of("trust.wind-zones")
    return replace(like, name="trust.new", authority="practice", when=(), where=where, then=(tenfold,))


_FLAME = (("open_draft", ("yes",)),)


def test_a_wider_reading_whose_failure_becomes_too_close_to_call_is_told() -> None:
    some = _and(_retest(), "rules", _widens(_FLAME))
    for before, after in (
        (_retest(), _and(_retest(), "rules", _widens())),
        (some, _with(some, "rules", "trust.new", where=())),
        (_retest(), _and(_retest(), "rules", replace(_widens(), authority="safety"))),
    ):
        (said,) = loosened(before, after)
        assert "(trust.new) widens, where it did not" in said.said
        assert said.fails


def test_a_wider_reading_whose_doubt_counts_as_a_failure_stays_quiet() -> None:
    assert _policy().checks["draft"].doubt == "against"
    assert loosened(_policy(), _and(_policy(), "rules", _widens())) == ()


def test_a_rule_that_widens_another_reading_besides_stays_quiet() -> None:
    rule = _of("trust.wind-zones")
    before = _with(_retest(), "rules", rule.name, authority="practice")
    other = replace(rule.then[0], name="door_pressure")
    assert loosened(before, _with(before, "rules", rule.name, then=(*rule.then, other))) == ()


# ------------------------------------------------------------------------------------------------ rules that silence, rules that lift


def _finder(name: str, finding: str, like: str, authority: str, **changes: Any) -> Rule:
    """A rule that only finds, in every case unless `changes` say otherwise."""
    plain = replace(_of(like), name=name, authority=authority, when=(), where=(), any=(), unless=())
    return replace(plain, then=(Then("finding", finding),), **changes)


def _silenced() -> Policy:
    return _with(_policy(), "rules", "guard.draft", unless=(FindingClause("hushed"),))


def test_a_safety_rule_that_silences_another_in_more_cases_is_told() -> None:
    narrow = _and(_silenced(), "rules", _finder("guard.hush", "hushed", "guard.draft", "safety", where=_FLAME))
    wide = _with(narrow, "rules", "guard.hush", where=())
    for before, after in ((narrow, wide), (_silenced(), narrow)):
        (said,) = loosened(before, after)
        assert "(guard.hush)" in said.said


def test_a_safety_rule_that_says_more_besides_what_silences_another_stays_quiet() -> None:
    hush = _finder("guard.hush", "hushed", "guard.draft", "safety", where=_FLAME)
    before = _and(_silenced(), "rules", hush)
    assert loosened(before, _with(before, "rules", "guard.hush", then=(*hush.then, Then("caution", "roof")))) == ()


def _lifting(authority: str, *besides: Then) -> Policy:
    """A rule that lifts the hold of a zone's draft where it finds it dry, and says something `besides`."""
    lift = Then("lift", "draft", for_="add-return", text="for the sake of the test")
    rule = _finder("guard.lift", "", "guard.cure", authority, each="house")
    return _and(_policy(), "rules", replace(rule, when=(FindingClause("dry"),), then=(lift, *besides)))


def _dry(policy: Policy, *when: CheckClause) -> Policy:
    return _and(policy, "rules", _finder("find.dry", "dry", "guard.cure", "practice", each="house", when=when))


_WINDY = CheckClause("wind", ("fail",))


@pytest.mark.parametrize("authority", ["safety", "practice"])
def test_a_finding_that_stands_more_often_and_lets_a_rule_lift_what_safety_holds_is_told(authority: str) -> None:
    policy = _lifting(authority)
    narrow = _dry(policy, _WINDY)
    for before, after in ((narrow, _dry(policy)), (policy, _dry(policy))):
        assert _naming("find.dry", loosened(before, after))
    (said,) = loosened(policy, narrow)
    assert "which lets a rule lift what safety holds" in said.said
    assert loosened(_dry(policy), narrow) == ()


def test_a_finding_that_lets_a_rule_lift_and_warn_is_followed_both_ways() -> None:
    policy = _lifting("safety", Then("caution", "combustion"))
    assert _naming("find.dry", loosened(_dry(policy, _WINDY), _dry(policy)))
    assert _naming("find.dry", loosened(_dry(policy), _dry(policy, _WINDY)))


def test_a_value_below_a_lift_of_practice_is_told_apart() -> None:
    other = replace(_policy().checks["wind"], name="breeze", limits=(Limit(Ref("parameter", "breeze_most")),))
    policy = _and(_lifting("practice"), "checks", other)
    policy = _and(policy, "parameters", _parameter("wind_most", "breeze_most", 10.0, "mph"))
    policy = _dry(policy, CheckClause("breeze", ("pass",)))
    said = loosened(policy, _with(policy, "parameters", "breeze_most", value=20.0))
    assert _naming("breeze_most", said)
    assert not any(one.fails for one in said)
    assert loosened(policy, _with(policy, "parameters", "breeze_most", value=5.0)) == ()


def _widened_by_practice() -> Policy:
    """The draft reading is widened by a practice rule, in a wind that a value of the company's calls strong."""
    other = replace(_policy().checks["wind"], name="breeze", limits=(Limit(Ref("parameter", "breeze_most")),))
    policy = _and(_policy(), "checks", other)
    policy = _and(policy, "parameters", _parameter("wind_most", "breeze_most", 10.0, "mph"))
    rule = replace(_of("trust.wind-zones"), authority="practice")
    windy = (CheckClause("breeze", ("fail",), target="house"), FindingClause("exposed", "house"))
    finder = _finder("find.exposed", "exposed", "guard.cure", "practice", each="house")
    return _and(policy, "rules", replace(rule, when=windy), finder)


def test_what_a_rule_rests_on_that_widens_a_safety_reading_is_told_apart() -> None:
    policy = _widened_by_practice()
    for name, looser in (
        ("breeze_most", _with(policy, "parameters", "breeze_most", value=90.0)),
        ("breeze", _with(policy, "checks", "breeze", limits=(Limit(Ref("quantity", "90 mph", 90.0, "mph")),))),
        ("find.exposed", _with(policy, "rules", "find.exposed", when=(_WINDY,))),
    ):
        said = loosened(policy, looser)
        assert _naming(name, said), name
        assert not any(one.fails for one in said)


def test_a_reading_that_is_widened_more_often_and_counts_as_a_failure_stays_quiet() -> None:
    policy = _widened_by_practice()
    assert loosened(policy, _with(policy, "parameters", "breeze_most", value=5.0)) == ()
    assert loosened(_with(policy, "rules", "find.exposed", when=(_WINDY,)), policy) == ()


def test_a_wind_that_widens_more_often_what_is_only_read_again_is_told_apart() -> None:
    lower = float(_policy().parameters["wind_most"].value) * 0.8
    (said,) = loosened(_retest(), _with(_retest(), "parameters", "wind_most", value=lower))
    assert "(wind_most)" in said.said
    assert not said.fails


def test_a_rule_that_finds_more_often_what_lifts_its_own_hold_stays_quiet() -> None:
    """`guard.draft` finds what lets `guard.cure` lift its hold: where it finds more, it holds more."""
    assert loosened(_policy(), _with(_policy(), "rules", "guard.draft", where=())) == ()


# ------------------------------------------------------------------------------------------------ predictions


def _hears_a_prediction() -> Policy:
    """A safety rule that holds by a predicted word, in place of the rule of adopted law that does."""
    return _with(_policy(), "rules", "guard.manufactured-static", authority="safety")


@pytest.mark.parametrize(("name", "times"), [("rounds_most", 0.5), ("predict_range", 0.9), ("predict_range", 1.1)])
def test_what_a_prediction_is_made_with_that_a_safety_rule_hears_is_told_apart(name: str, times: float) -> None:
    policy = _hears_a_prediction()
    value = float(policy.parameters[name].value) * times
    (said,) = loosened(policy, _with(policy, "parameters", name, value=value))
    assert f"({name})" in said.said
    assert not said.fails


def test_more_rounds_and_predictions_that_nothing_hears_stay_quiet() -> None:
    policy = _hears_a_prediction()
    more = float(policy.parameters["rounds_most"].value) + 1.0
    assert loosened(policy, _with(policy, "parameters", "rounds_most", value=more)) == ()
    deaf = replace(policy, rules={n: r for n, r in policy.rules.items() if n != "guard.manufactured-static"})
    assert loosened(deaf, _with(deaf, "parameters", "rounds_most", value=1.0)) == ()
    assert loosened(deaf, _with(deaf, "parameters", "predict_range", value=50.0)) == ()


def test_fewer_rounds_before_a_rule_of_law_are_told_and_no_failure() -> None:
    (said,) = loosened(_policy(), _with(_policy(), "parameters", "rounds_most", value=1.0))
    assert not said.fails
