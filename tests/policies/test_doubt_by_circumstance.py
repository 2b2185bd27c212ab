"""How far a reading of 100 may be off when it was taken in a bad place, with a poor tool, or in wind.

Source: common practice of the trade; the shares are judgement, nothing published holds them all. Where one leg of two is read badly,
the total of both is in doubt by half as much.
"""

from types import MappingProxyType

import pytest

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.readings import Reading
from airwarrant.job.subject import Subject
from airwarrant.policy.model import Policy, Ref
from airwarrant.rules.judge import Judge
from airwarrant.rules.prepared import Prepared
from policies.one_of_each import policy_of

#: what is wrong with the reading; the rule that says so; reading -> how far 100 of it may be off
OFF: list[tuple[str, str, dict[str, float]]] = [
    ("a blower table is read for the wrong coil", "cross.dry-table", {"airflow": 20}),
    ("nobody knows what the table includes", "trust.table-includes", {"airflow": 20}),
    ("a filter is counted that is not there", "trust.table-of-a-package-unit", {"airflow": 20}),
    ("a hood without a fan holds air back", "trust.hood", {"flow": 20}),
    ("the system's readings disagree, so a room's may be the wrong one", "trust.rooms-of-a-disagreement", {"flow": 20}),
    ("turbulent air at the return tap", "trust.return-probe", {"return_static": 20, "external_static": 10}),
    ("turbulent air at the supply tap", "trust.supply-probe", {"supply_static": 20, "external_static": 10}),
    ("nobody wrote down where the tap was", "trust.return-probe-unknown", {"return_static": 10}),
    ("nobody wrote down where the tap was", "trust.supply-probe-unknown", {"supply_static": 10}),
    ("an instrument not checked for long drifts", "trust.old-instruments", {
        "return_static": 15, "supply_static": 15, "external_static": 15, "leakage_25": 15,
    }),
    ("an instrument not checked for long drifts", "trust.old-instruments-rooms", {"flow": 15, "door_pressure": 15}),
    ("an instrument not checked for long drifts", "trust.old-instruments-zones", {"draft": 15}),
    ("a few pascals in gusts", "trust.wind", {"house_pressure": 50}),
    ("a few pascals in gusts", "trust.wind-rooms", {"door_pressure": 50}),
    ("a few pascals in gusts", "trust.wind-zones", {"draft": 50}),
]  # fmt: skip


@pytest.fixture(scope="module")
def policy() -> Policy:
    return policy_of("clay-hollow")


def _off(policy: Policy, rule: str) -> dict[str, float]:
    """How far an exact reading of 100 may be off, as it is judged, once the rule has fired."""
    each, then = policy.rules[rule].each, policy.rules[rule].then
    shares = {one.name: policy.parameters[one.to.name] for one in then if one.to is not None}
    assert all(share.unit == "%" for share in shares.values())
    doubts = {(each, name): float(share.value) for name, share in shares.items()}
    subjects = {kind: (Subject(kind, kind, MappingProxyType({})),) for kind in {each, HOUSE_KEY}}

    def source(key: str, name: str, time: str) -> Reading:
        return Reading(100.0, KINDS[key].fields[name].unit, "measured", 0.0, "", None, None, "", MappingProxyType({}))

    judge = Judge(Prepared(policy), subjects, source, doubts)
    found = {name: judge.number(Ref("field", name), subjects[each][0], "found") for name in shares}
    return {name: round(number.plus_minus, 9) for name, number in found.items() if number is not None}


@pytest.mark.parametrize(("why", "rule", "off"), OFF, ids=[rule for _, rule, _ in OFF])
def test_a_reading_of_100_may_be_off_by(policy: Policy, why: str, rule: str, off: dict[str, float]) -> None:
    assert _off(policy, rule) == off, why


def test_every_circumstance_that_puts_a_reading_in_doubt_is_here(policy: Policy) -> None:
    doubting = {name for name, rule in policy.rules.items() if any(then.to is not None for then in rule.then)}
    assert doubting == {rule for _, rule, _ in OFF}
