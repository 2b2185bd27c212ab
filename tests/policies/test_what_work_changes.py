"""What each task's work does to a house: the one thing that a crew would see changed, and nothing beside it.

By hand from the physics of the piece (a wide elbow loses less, a sealed seam leaks less, a way back beside a door is more free area);
where a demo house lacks a piece, a house that has it. Sizes and areas are round numbers of ours.
"""

from collections.abc import Iterator

import numpy as np
import pytest

from airwarrant.air.openings import opening_area
from airwarrant.house.changes import Altered, alter
from airwarrant.house.work import Work
from airwarrant.policy.model import Policy
from airwarrant.units import UNITS
from house.house_of import demo, targets
from policies.one_of_each import policy_of

IN, IN2 = UNITS["in"].factor, UNITS["in2"].factor
#: task, job, place, size of its line, what it changes; a trailing − is less of it, + more.
DOES: list[tuple[str, str, str, float | None, set[str]]] = [
    ("replace-elbow", "1042", "roof-elbow", None, {"return-elbow -", "supply-elbow -"}),
    ("new-supply-plenum", "1042", "supply-plenum", None, {"plenum -"}),
    ("new-return-plenum", "1042", "return-plenum", None, {"collar -"}),
    # Joints of plenums and boxes, on the side of the plenum: the filter box at the grille, the elbow and the boots stay.
    ("reseal-plenum", "1042", "return-plenum", None, {"leak of return-box -"}),
    ("reseal-plenum", "1042", "supply-plenum", None, {"leak of take-offs -"}),
    ("enlarge-filter-grille", "1042", "hall-grille", 700.0, {"filter-grille -"}),
    ("add-return", "3390", "living-route", 16.0, {"a way from the rooms to the unit"}),
    ("upsize-return", "3390", "hall-return", 18.0, {"return-duct -"}),
    # The unit's own casing and what is bolted to it, on both sides.
    ("seal-cabinet", "1042", "house", None, {
        "leak of return-connection -", "leak of elbow-joints -", "leak of supply-connection -",
    }),
    ("line-platform-return", "2718", "house", None, {"leak of platform-gaps -"}),
    ("seal-ducts", "2718", "house", None, {"leak of platform-gaps -", "leak of boots -", "leak of take-offs -"}),
    ("replace-flex-run", "3390", "bed-2-run", None, {"room:bed-2 -"}),
    ("transfer-grille", "1042", "bed-2", 49.0, {"bed-2 door 49 in2"}),
    ("jump-duct", "1042", "bed-2", 49.0, {"bed-2 door 49 in2"}),
    # A round duct of 8 in opens pi/4 x 64 = 50.3 in2.
    ("bedroom-return", "1042", "bed-2", 8.0, {"bed-2 door 50 in2"}),
    # Nothing of the ducts: the blower's own table is what changes.
    ("fan-setting", "1042", "house", None, set()),
]  # fmt: skip


@pytest.fixture(scope="module")
def policy() -> Policy:
    return policy_of("clay-hollow")


def _moved(altered: Altered, plain: Altered) -> Iterator[str]:
    """Everything of a network that is another than without the work."""
    for link, k, before in zip(altered.links, altered.k, plain.k, strict=False):
        if not np.allclose(k[0], before[0]) and not link.part.startswith("leak:"):
            yield f"{link.part} {'-' if k[0] < before[0] else '+'}"
    if len(altered.links) > len(plain.links):
        yield "a way from the rooms to the unit"
    for leak, share in altered.leaks_keep.items():
        if share[0] < 1:
            yield f"leak of {leak.removeprefix('leak:')} -"
    discharge = altered.house.assumptions["predict_discharge"]
    for room, door in altered.doors.items():
        gained = opening_area(door, discharge) - opening_area(plain.doors[room], discharge)
        if abs(gained[0]) > 1e-9:
            yield f"{room} door {gained[0] / IN2:.0f} in2"


def _alter(job: str, *work: Work) -> Altered:
    made = demo(job)
    return alter(made._house, made._base, made._linear, work, targets(made._house.record))


@pytest.mark.parametrize(
    ("task", "job", "place", "size", "does"), DOES, ids=[f"{task} at {place}" for task, _, place, *_ in DOES]
)
def test_work_changes_its_own_piece_and_nothing_else(
    policy: Policy, task: str, job: str, place: str, size: float | None, does: set[str]
) -> None:
    work = Work(policy.tasks[task].changes, place, size)
    assert set(_moved(_alter(job, work), _alter(job))) == does


def test_a_wider_undercut_opens_what_it_adds_to_the_gap(policy: Policy) -> None:
    """Half an inch more of a gap is half an inch times the width of the door, which is 24 to 36 in."""

    def free(gap: float) -> float:
        altered = _alter("1042", Work(policy.tasks["undercut-door"].changes, "bed-2", gap))
        discharge = altered.house.assumptions["predict_discharge"]
        return float(opening_area(altered.doors["bed-2"], discharge)[0]) / IN2

    wide = free(2.0) - free(1.5)
    assert 12.0 <= wide <= 18.0


def test_a_room_is_balanced_by_its_damper_and_only_together_with_the_house(policy: Policy) -> None:
    """A damper by itself changes no air before somebody sets it; the setting trims those rooms that have one."""
    names = {name: policy.tasks[name].changes for name in ("balancing-damper", "balance-rooms")}
    damper, balance = Work(names["balancing-damper"], "bed-3"), Work(names["balance-rooms"], "house")
    plain = _alter("1042")
    assert set(_moved(_alter("1042", damper), plain)) == set()
    assert set(_moved(_alter("1042", damper, balance), plain)) == {"room:bed-3 +"}


def test_every_task_that_changes_the_air_is_here(policy: Policy) -> None:
    known = {task for task, *_ in DOES} | {"undercut-door", "balancing-damper", "balance-rooms"}
    assert {task.name for task in policy.tasks.values() if task.changes} == known
