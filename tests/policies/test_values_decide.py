"""Limits decide: numbers a few percent on either side of every check's limit get the words on file, in every market that has its own.

The file, ``near_limits.toml``, holds numbers and words, no limits: what an owner reads after a limit was changed. It is a record of
what the limits were reviewed to do, not a source of them; `test_tables_answer` and `test_codes` hold the published ones to their texts.
"""

import tomllib
from collections.abc import Mapping

import pytest

from airwarrant.policy.model import Policy
from policies.near_limits import FILE, MARKETS, Row, policy_of, read, said

#: Promised at the end of the job, but a prediction that misses it does not make an offer wait.
PROMISED_ONLY = {
    "fan-power", "filter-drop", "grille-load", "manufactured-static", "co-look", "new-duct-leakage", "new-duct-leakage-inside",
    "altered-leakage", "altered-leakage-outside",
}  # fmt: skip
#: Checks in which no number can be brought to its limit by itself.
NOT_BY_ONE_NUMBER = 12


ROWS: dict[str, list[Row]] = {}
for _row in read(tomllib.loads(FILE.read_text())):
    ROWS.setdefault(_row.check, []).append(_row)


class Markets(dict[str, Policy]):
    """Policies of markets, each composed when it is first asked for."""

    def __missing__(self, market: str) -> Policy:
        self[market] = policy_of(market)
        return self[market]


@pytest.fixture(scope="module")
def policies() -> Mapping[str, Policy]:
    return Markets()


@pytest.mark.parametrize("check", ROWS)
def test_numbers_near_a_limit_get_the_word_on_file(policies: Mapping[str, Policy], check: str) -> None:
    wrong = []
    for row in ROWS[check]:
        word = said(policies[row.market], row)
        if word != row.word:
            wrong.append(f"{row.check} in {row.market}: {word} for {dict(row.numbers)}, on file {row.word}")
    assert not wrong, "\n".join(wrong)


def test_nearly_every_check_has_numbers_near_its_limit(policies: Mapping[str, Policy]) -> None:
    every = {name for market in MARKETS for name in policies[market].checks}
    assert len(every - set(ROWS)) <= NOT_BY_ONE_NUMBER, sorted(every - set(ROWS))


@pytest.mark.parametrize("market", MARKETS)
def test_what_a_prediction_must_keep_is_what_is_promised(policies: Mapping[str, Policy], market: str) -> None:
    """Every check that is promised at test-out is predicted before the offer, but for those that no prediction can tell."""
    policy = policies[market]
    promised = {then.name for rule in policy.rules.values() for then in rule.then if then.what == "target"}
    predicted = {name for name, check in policy.checks.items() if check.acceptance}
    assert predicted == promised - PROMISED_ONLY
