"""Demo jobs to change and evaluate in tests."""

import pickle
import tomllib
from collections.abc import Sequence
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

import tomli_w

from airwarrant.job.reading_records import parse_job
from airwarrant.session import Session
from airwarrant.shipped import shipped

SCENARIOS = shipped("scenarios")
POLICIES = shipped("policies")
JOBS = ("1042", "4471", "5560", "2718", "3390")


def data(job: str) -> dict[str, Any]:
    """The record of a demo job as plain data, to be changed."""
    return tomllib.loads((SCENARIOS / f"job-{job}.toml").read_text())


def item(record: dict[str, Any], kind: str, key: str) -> dict[str, Any]:
    """An item of the record, or of a visit."""
    return next(one for one in record[kind] if one["id"] == key)


def scope(record: dict[str, Any], market: str = "", policies: Path | Sequence[Path] = POLICIES) -> dict[str, Any]:
    """Evaluate a record given as data, checked with both evaluators."""
    text = tomli_w.dumps(deepcopy(record)).encode()
    if policies == POLICIES:
        return pickle.loads(_scope(text, market))
    with Session(policies) as session:
        return session.evaluate(parse_job(text, "job.toml"), market=market, check_both=True)


@lru_cache(maxsize=32)
def _scope(text: bytes, market: str) -> bytes:
    """The result under the shipped policies, once a process, as bytes: each test gets one of its own to change."""
    return pickle.dumps(_shipped().evaluate(parse_job(text, "job.toml"), market=market, check_both=True))


@lru_cache(maxsize=1)
def _shipped() -> Session:
    return Session(POLICIES)


def states(result: dict[str, Any]) -> dict[str, str]:
    """State of each line by its id."""
    return {line["id"]: line["state"] for line in result["lines"]}


def declined(result: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Left-out lines by id."""
    return {entry["line"]: entry for entry in result["declined"]}


def tasks(result: dict[str, Any], *in_state: str) -> set[str]:
    """Tasks with a line in one of these states."""
    return {line["task"] for line in result["lines"] if line["state"] in in_state}
