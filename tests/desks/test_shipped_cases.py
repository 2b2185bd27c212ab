"""The shipped cases hold, and show every rule firing and narrowly not firing."""

import pytest

from airwarrant.desks.cases import CasesChecked, check_cases
from airwarrant.policy.cases import read_cases
from jobs import POLICIES


@pytest.fixture(scope="module")
def checked() -> CasesChecked:
    return check_cases([POLICIES])


def test_every_case_holds(checked: CasesChecked) -> None:
    assert [str(fault) for fault in checked.faults] == []
    assert [str(failure) for failure in checked.failures] == []
    assert checked.count == len(read_cases(POLICIES)) > 250


def test_every_rule_fires_narrowly_does_not_and_has_every_clause_decide(checked: CasesChecked) -> None:
    assert [str(one) for one in checked.coverage.uncovered()] == []
    assert all(shown == there for shown, there in checked.coverage.counts().values())


def test_every_edge_case_has_a_case_or_is_named_as_one_that_no_rule_reads() -> None:
    titled = {
        number for case in read_cases(POLICIES) for number in case.title.partition(":")[0].replace(",", "").split()
    }
    head = (POLICIES / "cases" / "edges.toml").read_text().partition("[cases]")[0]
    named = {word.strip(",.:") for word in head.split()}
    assert {f"E{number}" for number in range(1, 49)} - titled - named == set()
