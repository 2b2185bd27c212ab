"""A record with the lengths and sizes of the worked amounts, and lines priced by themselves."""

from datetime import date
from typing import Any

import tomli_w

from airwarrant.job.lookup import subjects
from airwarrant.job.reading_records import parse_job
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from airwarrant.pricing.line import LinePrice, LinePricer
from airwarrant.pricing.place import JobPlaces
from airwarrant.sizing.sized import OneSize, Sized
from jobs import POLICIES

SUMMER, WINTER = date(2026, 7, 14), date(2026, 1, 14)
#: What a line of each task is sized to in the worked amounts.
SIZES = {
    "add-return": (18.0, 420.0),
    "enlarge-filter-grille": (480.0,),
    "bedroom-return": (8.0,),
    "jump-duct": (40.0, 8.0),
    "upsize-return": (18.0,),
}
#: Place of a line of each task that does not stand for the whole house.
PLACES = {
    "add-return": "route-1",
    "replace-flex-run": "run-1",
    "bedroom-return": "room-1",
    "balancing-damper": "room-1",
    "jump-duct": "room-1",
    "transfer-grille": "room-1",
    "undercut-door": "room-1",
    "upsize-return": "return-1",
    "replace-elbow": "elbow-1",
    "reseal-plenum": "plenum-1",
    "new-supply-plenum": "plenum-1",
}


def record(
    day: date = SUMMER, *, house: dict[str, Any] | None = None, run: dict[str, Any] | None = None
) -> dict[str, Any]:
    """A record whose quantities are those of the worked amounts; ducts in the attic unless `house` says otherwise."""
    return {
        "format": "airwarrant/job/1",
        "id": "by-hand",
        "market": "copper-basin",
        "units": "ip",
        "dates": {"survey": day},
        "house": {"return_path_space": "attic", "supply_path_space": "attic", **(house or {})},
        "room": [{"id": "room-1", "use": "bedroom"}],
        "run": [{"id": "run-1", "room": "room-1", "diameter": 8, "length": 25, **(run or {})}],
        "return": [{"id": "return-1", "length": 25}],
        "route": [{"id": "route-1", "length": 25, "diameter": 18}],
        "elbow": [{"id": "elbow-1"}],
        "plenum": [{"id": "plenum-1", "side": "supply"}],
    }


def policy_of(market: str, day: date = SUMMER) -> Policy:
    return compose(POLICIES, market, {"survey": day})


def pricer(policy: Policy, data: dict[str, Any]) -> LinePricer:
    """A pricer of one job under a policy."""
    job = parse_job(tomli_w.dumps(data).encode(), "by-hand.toml")
    by_kind = subjects(job, jurisdiction_known=True)
    places = JobPlaces(job, {one.key: one for several in by_kind.values() for one in several})
    assert policy.prices is not None
    return LinePricer(policy, policy.prices, places)


def price(
    policy: Policy, data: dict[str, Any], task: str, *, shared: bool = False, count: int = 1, size: float = 0.0
) -> LinePrice:
    """Price one line of a task by itself; `size` stands in place of the first size."""
    place = PLACES.get(task, "house")
    return pricer(policy, data).line(
        f"{task}@{place}", task, place, "recommended", sized(policy, task, count, size), shared=shared
    )


def sized(policy: Policy, task: str, count: int = 1, size: float = 0.0) -> Sized | None:
    """The sizes of the worked amounts, the first of them `count` times."""
    values = SIZES.get(task)
    if values is None:
        return None
    sizes = policy.tasks[task].sizes
    numbers = zip(sizes, (size or values[0], *values[1:]), strict=True)
    return Sized(tuple(OneSize(one, value, count if i == 0 else 1) for i, (one, value) in enumerate(numbers)), ())
