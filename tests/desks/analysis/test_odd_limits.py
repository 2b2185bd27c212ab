"""Limits that nothing a record may hold can reach: none in the shipped markets, and what is said of one that is."""

from dataclasses import replace
from datetime import date

import pytest

from airwarrant.desks.analysis.odd_limits import odd_limits
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names
from airwarrant.policy.model import Policy
from jobs import POLICIES


def _policy(market: str = "copper-basin") -> Policy:
    return compose(POLICIES, market, {"survey": date(2026, 7, 14)})


def _with(policy: Policy, name: str, value: float) -> Policy:
    return replace(policy, parameters={**policy.parameters, name: replace(policy.parameters[name], value=value)})


@pytest.mark.parametrize("market", market_names(POLICIES))
def test_no_shipped_limit_is_odd(market: str) -> None:
    assert [str(fault) for fault in odd_limits(_policy(market))] == []


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (-0.28, "is 0 to 2: every reading fails it"),
        (2.8, "is 0 to 2: no reading can fail it"),
    ],
)
def test_a_limit_of_what_is_read_without_its_sign(value: float, says: str) -> None:
    (fault,) = odd_limits(_with(_policy(), "return_budget", value))
    assert says in fault.found
    assert fault.place is not None
    assert fault.place.file.endswith("limits.toml")


def test_a_ratio_without_an_end_is_said_to_have_none() -> None:
    policy = _policy()
    ratios = {name for name, figure in policy.figures.items() if figure.step in ("ratio_of", "share_of")}
    limits = {
        limit.of.name
        for check in policy.checks.values()
        for limit in check.limits
        if check.reading.name in ratios and limit.of.form == "parameter" and check.times is None
        and limit.less is None and limit.more is None
    }  # fmt: skip
    said = [fault.found for name in sorted(limits) for fault in odd_limits(_with(policy, name, -1.0))]
    assert any("or more" in one for one in said)
    assert not any("inf" in one for one in said)
