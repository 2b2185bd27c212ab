"""The same record and policy give the same bytes: over hash seeds, orders of keys and items, and file forms."""

import json
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from functools import cache
from typing import Any

import pytest
import tomli_w

from airwarrant.job.dictionary import KINDS
from airwarrant.job.reading_records import parse_job
from airwarrant.result.serial import compared, to_bytes
from airwarrant.session import Session
from jobs import JOBS, POLICIES, SCENARIOS, data
from reading_once import forget

#: Arrays whose order says nothing: items, readings of items in a visit, instruments. Settings, table rows and visits
#: are in an order that means something and stay.
LOOSE = {*KINDS, "instrument", "override", "choice"}


def shuffled(value: Any, rng: random.Random, name: str = "") -> Any:
    """The same record, its keys and its loose arrays in another order."""
    if isinstance(value, dict):
        keys = list(value)
        rng.shuffle(keys)
        return {key: shuffled(value[key], rng, key) for key in keys}
    if isinstance(value, list):
        rows = [shuffled(one, rng) for one in value]
        if name in LOOSE:
            rng.shuffle(rows)
        return rows
    return value


def as_json(record: dict[str, Any]) -> bytes:
    """The record as a JSON text; dates become text."""
    return json.dumps(record, default=date.isoformat).encode()


def differences(one: Any, other: Any, path: str = "") -> Iterator[str]:
    """Paths at which two documents differ."""
    if isinstance(one, dict) and isinstance(other, dict):
        if list(one) != list(other):
            yield f"{path}: keys {sorted(set(one) ^ set(other)) or 'in another order'}"
        for key in one.keys() & other.keys():
            yield from differences(one[key], other[key], f"{path}.{key}")
    elif isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            yield f"{path}: {len(one)} and {len(other)} entries"
        for i, (a, b) in enumerate(zip(one, other, strict=False)):
            yield from differences(a, b, f"{path}[{i}]")
    elif one != other:
        yield f"{path}: {one!r} and {other!r}"


def assert_same(found: dict[str, Any], expected: dict[str, Any]) -> None:
    """Hold bytes equal; on failure name the paths that differ, not two long texts."""
    assert list(differences(found, expected)) == []
    assert to_bytes(found) == to_bytes(expected)


@cache
def result_of(job: str) -> dict[str, Any]:
    """The result of a demo job as it stands in its file."""
    return evaluated((SCENARIOS / f"job-{job}.toml").read_bytes(), f"job-{job}.toml")


def evaluated(text: bytes, file: str) -> dict[str, Any]:
    with Session(POLICIES) as session:
        return compared(session.evaluate(parse_job(text, file)))


@pytest.mark.parametrize("job", JOBS)
def test_two_evaluations_in_one_process_give_the_same_bytes(job: str) -> None:
    first = result_of(job)
    forget()
    assert_same(evaluated((SCENARIOS / f"job-{job}.toml").read_bytes(), f"job-{job}.toml"), first)


def test_one_session_for_all_jobs_gives_the_same_bytes_as_one_for_each() -> None:
    with Session(POLICIES) as session:
        for job in (*reversed(JOBS), *JOBS):
            path = SCENARIOS / f"job-{job}.toml"
            assert_same(compared(session.evaluate(parse_job(path.read_bytes(), path.name))), result_of(job))


def test_the_hash_seed_of_python_changes_no_byte() -> None:
    script = (
        "import sys\nfrom jobs import JOBS\nfrom test_same_bytes import result_of\n"
        "from airwarrant.result.serial import to_bytes\n"
        "for job in JOBS:\n    sys.stdout.buffer.write(to_bytes(result_of(job)))\n"
    )
    here = os.path.dirname(__file__)
    seen = set()
    for seed in ("0", "1"):
        env = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": here}
        done = subprocess.run([sys.executable, "-c", script], capture_output=True, env=env, check=True)
        seen.add(done.stdout)
    assert len(seen) == 1


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("seed", [1, 2])
def test_the_order_of_keys_and_items_and_the_file_name_change_no_byte(job: str, seed: int) -> None:
    text = tomli_w.dumps(shuffled(data(job), random.Random(seed))).encode()
    assert_same(evaluated(text, "shuffled.toml"), result_of(job))


@pytest.mark.parametrize("job", JOBS)
def test_json_gives_the_bytes_that_toml_gives(job: str) -> None:
    text = as_json(shuffled(data(job), random.Random(3)))
    assert_same(evaluated(text, "shuffled.json"), result_of(job))
