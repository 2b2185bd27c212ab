"""Work that is worth nothing, or does harm, while another fault stands: offered together with what ends the fault, held without it.

Source: common practice of the trade. A narrow elbow chokes whatever is hung before it; a return plenum in rags leaks all that a new
return brings; a finer filter in a grille that is too small already starves the blower.
"""

from types import MappingProxyType

import pytest

from airwarrant.job.subject import Subject
from airwarrant.policy.model import Policy, Then
from airwarrant.scope.settle import settle
from airwarrant.scope.votes import Vote
from policies.one_of_each import policy_of

#: work, the fault that stands, the work that ends it
WAITS = [
    ("new-supply-plenum", "elbow-to-change", "replace-elbow"),
    ("new-return-plenum", "elbow-to-change", "replace-elbow"),
    ("add-return", "elbow-to-change", "replace-elbow"),
    ("upsize-return", "elbow-to-change", "replace-elbow"),
    ("add-return", "return-plenum-defective", "new-return-plenum"),
    ("upsize-return", "return-plenum-defective", "new-return-plenum"),
    ("finer-filter", "filter-small", "enlarge-filter-grille"),
]  # fmt: skip


@pytest.fixture(scope="module")
def policy() -> Policy:
    return policy_of("clay-hollow")


def _state(policy: Policy, task: str, fault: str, *others: str) -> str:
    votes = [
        Vote(f"asks-for-{name}", "house", "house", "house", "practice", Then("line", name, tier="recommended"), 1)
        for name in (task, *others)
    ]
    subjects = {"house": Subject("house", "house", MappingProxyType({}))}
    return settle(votes, policy.tasks, subjects, frozenset({(fault, "house")})).lines[f"{task}@house"].state


@pytest.mark.parametrize(("task", "fault", "cure"), WAITS, ids=[f"{task} without {cure}" for task, _, cure in WAITS])
def test_work_waits_for_what_ends_a_fault(policy: Policy, task: str, fault: str, cure: str) -> None:
    assert _state(policy, task, fault) == "held"
    assert _state(policy, task, fault, cure) == "scoped"
    assert _state(policy, task, "another-fault") == "scoped"


def test_only_more_return_has_to_earn_its_place(policy: Policy) -> None:
    """A second return is the one costly work that may gain nothing: where the prediction says so, it is not offered."""
    assert {task.name for task in policy.tasks.values() if task.must_gain} == {"add-return"}


def test_no_decision_leaves_out_the_readings_before_and_after(policy: Policy) -> None:
    assert {task.name for task in policy.tasks.values() if task.promised} == {"test-in", "test-out"}
