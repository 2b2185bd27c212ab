"""Every result fits the published schema of result files; the schema refuses what is none."""

import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from airwarrant.result.serial import to_bytes
from airwarrant.shipped import shipped
from jobs import JOBS, data, scope

SCHEMA = json.loads((shipped("schemas") / "result.schema.json").read_text())


@pytest.fixture(scope="module", params=JOBS)
def result(request: pytest.FixtureRequest) -> dict[str, Any]:
    return scope(data(request.param))


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def test_every_shipped_job_gives_a_result_that_fits(result: dict[str, Any]) -> None:
    faults = [
        f"{list(e.path)}: {e.message[:200]}"
        for e in Draft202012Validator(SCHEMA).iter_errors(json.loads(to_bytes(result)))
    ]
    assert not faults


def test_every_result_has_the_keys_that_the_schema_names(result: dict[str, Any]) -> None:
    assert set(result) == set(SCHEMA["required"])


def test_a_key_that_is_missing_or_unknown_is_refused() -> None:
    result = scope(data(JOBS[0]))
    for key in result:
        broken = {name: held for name, held in result.items() if name != key}
        assert not Draft202012Validator(SCHEMA).is_valid(broken), key
    assert not Draft202012Validator(SCHEMA).is_valid({**result, "score": 1})
