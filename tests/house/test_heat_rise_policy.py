"""A heating rise is judged against the nameplate of its own unit, and a predicted one outside it holds the offer."""

from types import MappingProxyType

import pytest

from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import reading, subjects
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from airwarrant.rules.engine import Engine
from airwarrant.rules.facts import Facts
from airwarrant.rules.judge import Judge
from airwarrant.rules.prepared import Prepared
from house.seasons import HOUSE, POLICIES, record
from policies.test_shipped_content import DATES, MARKETS

OLD, NEW = {"rise_low": 45, "rise_high": 75}, {"rise_low": 35, "rise_high": 65}
CHECKS = ("heat-rise-high", "heat-rise-low")


@pytest.fixture(scope="module", params=MARKETS)
def policy(request: pytest.FixtureRequest) -> Policy:
    return compose(POLICIES, request.param, DATES)


def job(old: dict[str, float], new: dict[str, float], found: float | None, at_end: float | None = None) -> JobRecord:
    """A furnace with a nameplate of each unit and a rise measured on the old one, and on the new one at test-out."""
    visits = [{"kind": "test-in", "unit": "old", "date": DATES["survey"]}]
    visits[0] |= {} if found is None else {"temperature_rise": found}
    if at_end is not None:
        visits.append({"kind": "test-out", "unit": "new", "date": DATES["permit"], "temperature_rise": at_end})
    furnace = {"form": "furnace-coil", "fuel": "gas", "tons": 3, "heat_output": 64000}
    return record(HOUSE, furnace | new, old={"form": "furnace-coil", "tons": 3, **old}, visit=visits)


def words(policy: Policy, one: JobRecord, time: str, predicted: float | None = None) -> list[str]:
    """What both checks say at a time."""
    by_kind = subjects(one, jurisdiction_known=True)

    def source(key: str, name: str, at: str) -> Reading | None:
        if (name, at) == ("temperature_rise", "predicted") and predicted is not None:
            return Reading(predicted, "F diff", "predicted", 3.0, "", None, None, "", MappingProxyType({}))
        return reading(one, key, name, at)

    judge = Judge(Prepared(policy), by_kind, source)
    return [judge.judge(policy.checks[name], by_kind[HOUSE_KEY][0], time).word for name in CHECKS]


@pytest.mark.parametrize(
    ("rise", "said"), [(50, ["pass", "pass"]), (70, ["pass", "pass"]), (40, ["pass", "fail"]), (80, ["fail", "pass"])]
)
def test_a_rise_found_on_the_old_unit_is_held_to_the_old_nameplate(
    policy: Policy, rise: float, said: list[str]
) -> None:
    assert words(policy, job(OLD, NEW, rise), "found") == said


def test_without_the_old_nameplate_a_rise_found_is_not_judged_by_the_new_one(policy: Policy) -> None:
    assert words(policy, job({}, NEW, 90), "found") == ["unmeasured", "unmeasured"]


def test_a_rise_at_test_out_and_a_predicted_one_are_held_to_the_new_nameplate(policy: Policy) -> None:
    for rise, said in ((40, ["pass", "pass"]), (70, ["fail", "pass"]), (30, ["pass", "fail"])):
        assert words(policy, job(OLD, NEW, 50, rise), "test-out") == said
        assert words(policy, job(OLD, NEW, 50), "predicted", rise) == said
    assert words(policy, job(OLD, NEW, 50), "predicted") == ["unmeasured", "unmeasured"]


@pytest.mark.parametrize("check", CHECKS)
def test_a_predicted_rise_outside_the_nameplate_holds_the_offer_and_one_found_does_not(
    policy: Policy, check: str
) -> None:
    by_kind = subjects(job(OLD, NEW, 50), jurisdiction_known=True)
    with Engine({"guard.heat-rise": policy.rules["guard.heat-rise"]}) as engine:
        for time, holds in (("predicted", True), ("found", False), ("test-out", False)):
            fired = engine.run(Facts(by_kind, {(check, time, HOUSE_KEY): "fail"})).firings
            assert bool(fired) == holds, time
        assert not engine.run(Facts(by_kind, {(check, "predicted", HOUSE_KEY): "close"})).firings
    (hold,) = (then for then in policy.rules["guard.heat-rise"].then if then.what == "hold")
    assert (hold.name, hold.when) == ("proposal", "before-sale")


def test_the_maker_limits_gate_hand_over(policy: Policy) -> None:
    rules = (policy.rules["accept.listing"], policy.rules["accept.heat-rise"])
    gates = {then.name for rule in rules for then in rule.then if then.what == "target" and then.gate}
    assert gates >= set(CHECKS)
    assert all(policy.checks[name].acceptance for name in CHECKS)
