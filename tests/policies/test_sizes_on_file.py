"""Sizes of every task's line over houses from small to large are those on file, and never shrink as the house grows.

The file is a record of what the policies were reviewed to size, not a source: the calculations behind it are held to published values in
`tests/published`, the tables to their texts in `test_tables_answer`.
"""

import pytest

from airwarrant.policy.model import Policy
from policies.one_of_each import policy_of
from policies.sizes_on_file import MARKETS, SCALES, on_file, places, sizes

KEPT = on_file()


@pytest.fixture(scope="module", params=MARKETS)
def policy(request: pytest.FixtureRequest) -> Policy:
    return policy_of(request.param)


def test_every_size_is_on_file(policy: Policy) -> None:
    sized = {f"{t.name} at {place}" for t in policy.tasks.values() if t.sizes for place in places(policy, t.name)}
    assert set(KEPT[policy.market.name]) == sized


@pytest.mark.parametrize("name", sorted({name for of in KEPT.values() for name in of}))
def test_sizes_are_those_on_file(policy: Policy, name: str) -> None:
    task, _, place = name.partition(" at ")
    kept = KEPT[policy.market.name]
    moved = []
    for scale, row in zip(SCALES, kept[name], strict=True) if name in kept else ():
        now = sizes(policy, policy.tasks[task], place, scale)
        if now != row:
            moved.append(f"{name}, {scale:g} times the usual house: {now}, on file {row}")
    assert not moved, "\n".join(moved)


def test_one_duct_never_gets_smaller_as_the_house_grows(policy: Policy) -> None:
    for name, rows in KEPT[policy.market.name].items():
        single = [
            float(row[0].split(": ")[1].split(",")[0])
            for row in rows
            if row and row[0].endswith(", 1") and "none" not in row[0]
        ]
        if "elbow" not in name and "undercut" not in name:
            assert single == sorted(single), name
