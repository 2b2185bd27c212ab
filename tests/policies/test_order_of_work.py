"""What a crew does first: pairs of work that the trade does in one order, whatever else the scope holds.

Source: common practice of the trade, each group with its own reason; nothing published holds them all.
"""

from collections.abc import Mapping

import pytest

from airwarrant.policy.model import Policy
from airwarrant.scope.order import after_in_scope, task_order
from policies.one_of_each import policy_of

#: Why, and who follows whom: work -> what is done before it.
ORDER: list[tuple[str, Mapping[str, tuple[str, ...]]]] = [
    ("what was there is read before it is touched, or nobody can say what the work was worth", {
        "leakage-test": ("test-in",), "relocate-return": ("test-in",), "replace-elbow": ("test-in",), "replace-flex-run": ("test-in",),
        "seal-leak": ("test-in", "leakage-test", "combustion-test"), "repair-return": ("test-in",), "cap-opening": ("test-in",),
        "remove-bypass": ("test-in",), "replace-wet-duct": ("test-in",), "steel-garage-duct": ("test-in",), "attic-access": ("test-in",),
        "second-drain": ("test-in",), "support-crossover": ("test-in",), "seal-ducts": ("leakage-test",),
    }),
    ("with the unit off, from the unit outwards: what the next piece is fastened to stands first", {
        "new-supply-plenum": ("replace-elbow",), "new-return-plenum": ("replace-elbow",),
        "reseal-plenum": ("replace-elbow", "new-supply-plenum", "new-return-plenum"),
        "reseal-elbow": ("replace-elbow",),
        "enlarge-filter-grille": ("reseal-plenum",),
        "add-return": ("replace-elbow", "new-supply-plenum", "new-return-plenum", "reseal-plenum", "enlarge-filter-grille"),
        "upsize-return": ("replace-elbow", "new-return-plenum", "reseal-plenum", "enlarge-filter-grille"),
    }),
    ("a hole is mended before the seam beside it is sealed, and before a duct is cut into it", {
        "repair-return": ("seal-leak",), "reseal-plenum": ("seal-leak",),
        "add-return": ("repair-return",), "upsize-return": ("repair-return",),
    }),
    ("what will be cut open is not sealed yet: sealing comes after capacity, the large seams before the rest", {
        "seal-cabinet": ("reseal-plenum", "reseal-elbow", "cap-opening", "remove-bypass", "add-return", "upsize-return"),
        "line-platform-return": ("reseal-plenum", "enlarge-filter-grille", "add-return"),
        "line-cavity": ("reseal-plenum", "enlarge-filter-grille", "add-return"),
        "seal-ducts": (
            "seal-cabinet", "line-platform-return", "add-return", "upsize-return", "enlarge-filter-grille", "replace-flex-run",
        ),
    }),
    ("insulation hides seams: what it covers is tight and final", {
        "insulate-duct": ("seal-ducts", "seal-leak", "cap-opening", "replace-flex-run", "upsize-return"),
    }),
    ("a blower is set on the ducts that stay, rooms are balanced on the blower that stays", {
        "fan-setting": ("seal-cabinet", "seal-ducts", "line-platform-return"),
        "change-zone-control": ("fan-setting",),
        "balancing-damper": ("seal-ducts", "replace-flex-run", "fan-setting"),
        "balance-rooms": ("balancing-damper",),
    }),
    ("a finer filter takes the face that is there: the larger grille stands first", {"finer-filter": ("enlarge-filter-grille",)}),
    ("what a shut door holds back depends on the air that its room gets; the cheapest way back is tried first", {
        "undercut-door": ("balance-rooms",), "transfer-grille": ("undercut-door",), "jump-duct": ("undercut-door",),
        "bedroom-return": ("balance-rooms", "transfer-grille", "jump-duct"),
    }),
    ("the last readings are of the house as it stays", {
        "test-out": (
            "bedroom-return", "transfer-grille", "jump-duct", "undercut-door", "insulate-duct", "finer-filter", "change-zone-control",
            "remove-bypass", "reseal-elbow", "balance-rooms", "balancing-damper", "fan-setting", "seal-ducts", "relocate-return",
        ),
        "duct-certificate": ("seal-ducts", "test-out"),
    }),
    ("a flame is tested again when all that can pull on it is done", {
        "combustion-retest": (
            "combustion-test", "test-out", "seal-cabinet", "line-cavity", "replace-wet-duct", "steel-garage-duct",
        ),
    }),
]  # fmt: skip
PAIRS = [(task, first, why) for why, of in ORDER for task, several in of.items() for first in several]
#: Who opens the casing, a plenum, the elbow or the return at the unit does it with the power off; so is the drain under the coil.
UNIT_OFF = {
    "replace-elbow", "reseal-elbow", "new-supply-plenum", "new-return-plenum", "reseal-plenum", "add-return", "seal-cabinet",
    "line-platform-return", "second-drain",
}  # fmt: skip


@pytest.fixture(scope="module")
def policy() -> Policy:
    return policy_of("juniper-sill")


@pytest.mark.parametrize(("task", "first", "why"), PAIRS, ids=[f"{task} after {first}" for task, first, _ in PAIRS])
def test_a_crew_with_two_lines_alone_is_told_which_is_first(policy: Policy, task: str, first: str, why: str) -> None:
    assert after_in_scope(task, policy.tasks, (task, first)) == [first], why
    order = task_order(policy.tasks)
    assert order[first] < order[task], why


def test_every_pair_of_the_policy_has_its_reason_here(policy: Policy) -> None:
    assert {(task.name, first) for task in policy.tasks.values() for first in task.after} == {
        (task, first) for task, first, _ in PAIRS
    }


def test_the_first_readings_are_first_and_the_last_last(policy: Policy) -> None:
    """Work that touches air or flame stands between the first readings and the last."""
    order = task_order(policy.tasks)
    moved = {task.name for task in policy.tasks.values() if task.changes}
    assert all(order["test-in"] < order[name] < order["test-out"] for name in moved)
    assert order["test-out"] < order["combustion-retest"]


def test_who_works_inside_the_unit_has_it_off(policy: Policy) -> None:
    assert {task.name for task in policy.tasks.values() if task.unit_off} == UNIT_OFF
