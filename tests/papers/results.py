"""Results of demo jobs as papers read them, and records changed to be unkind to a page."""

from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

from airwarrant.desks.accept import accept
from airwarrant.desks.made_from import made_from
from airwarrant.job.reading_records import read_job
from airwarrant.policy.files import policy_texts
from jobs import POLICIES, SCENARIOS, data, scope

#: Names that a page must survive: markup, length, turned direction, signs outside the plane, controls, quotes and braces.
UNKIND = (
    '<script>alert("x")</script><img src=x onerror=alert(1)>',
    "W" * 300,
    "a" + "b" * 40 + " " + "long name of a room " * 12,
    "\u05d7\u05d3\u05e8 \u05e9\u05d9\u05e0\u05d4 \u0627\u0644\u063a\u0631\u0641\u0629",
    "\U0001f469\u200d\U0001f527\U0001f321\ufe0f bedroom",
    "price \u202e01$ reversed",
    "{{ 7 * 7 }} {% raw %} ${x} #{y} \\ ' \" & ; --",
)


@lru_cache(maxsize=16)
def _result(job: str) -> dict[str, Any]:
    return scope(data(job))


def result_of(job: str) -> dict[str, Any]:
    """A result of a demo job, its own copy."""
    return deepcopy(_result(job))


@lru_cache(maxsize=2)
def acceptance_of(test_out: str) -> dict[str, Any]:
    """The acceptance document of a shipped test-out of job 1042."""
    path = SCENARIOS / "job-1042.toml"
    record = read_job(path)
    result = _result("1042") | {
        "inputs": {
            "record": {"file": path.name, "text": path.read_text()},
            "market": record.market,
            "policy": policy_texts((POLICIES,), record.market, record.dates),
        }
    }
    out = SCENARIOS / f"{test_out}.toml"
    return accept(result, made_from(result, Path("result.json")), out.read_bytes(), out.name)


def record_with_names(names: tuple[str, ...], job: str = "1042") -> dict[str, Any]:
    """A demo record whose owner said, and whose rooms and ducts are called, unkind things."""
    record = data(job)
    record["house"]["told"] = " | ".join(names)
    things = [
        *record["room"],
        *record["return"],
        *record["route"],
        *record["elbow"],
        *record["plenum"],
        *record["leak"],
    ]
    for i, thing in enumerate(things):
        thing["name"] = names[i % len(names)]
    return record


def record_with_rooms(count: int) -> dict[str, Any]:
    """A demo record with `count` bedrooms, read and with doors; the other rooms are gone."""
    record = data("1042")
    record["room"] = [
        {
            "id": f"room-{i}",
            "use": "bedroom",
            "complaint": "hot" if i % 7 == 0 else "none",
            "load": 20_000 / max(count, 1),
        }
        for i in range(count)
    ]
    visit = record["visit"][0]
    visit["room"] = [
        {"id": f"room-{i}", "flow": 898 / max(count, 1), "door_pressure": {"value": 4 + i % 9, "doors": "closed"}}
        for i in range(count)
    ]
    if not count:
        del record["room"], visit["room"]
    return record
