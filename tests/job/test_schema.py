"""The schema that other programs use says what the reader does, and the committed file is the one the models make."""

import json
from pathlib import Path
from random import Random
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from pydantic import ValidationError
from test_faults_of_a_record import damage
from whole_record import as_json, in_si, whole

from airwarrant.job.dictionary import KINDS
from airwarrant.job.schema import job_schema
from airwarrant.job.shape import job_model

SCHEMA = job_schema()
VALIDATOR = Draft202012Validator(SCHEMA)
COMMITTED = Path(__file__).parents[2] / "schemas" / "job.schema.json"
RECORDS = [json.loads(as_json(whole())), in_si(whole())]


def test_the_committed_schema_is_the_one_the_models_make() -> None:
    assert json.loads(COMMITTED.read_text(encoding="utf-8")) == SCHEMA, (
        "write it again: python -m airwarrant.write_schemas"
    )


def test_the_schema_is_one_of_2020_12() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("data", RECORDS)
def test_a_sound_record_meets_the_schema(data: dict[str, Any]) -> None:
    assert not [error.message for error in VALIDATOR.iter_errors(data)]


def test_units_choose_the_ranges() -> None:
    mixed = {**RECORDS[0], "units": "si"}
    assert not VALIDATOR.is_valid(mixed)


def test_the_schema_and_the_reader_agree_on_damaged_records() -> None:
    random = Random(3)
    # Values on which JSON Schema and the reader have the same means to judge: no calendar, no control characters.
    junk: list[Any] = [
        None,
        True,
        3,
        -1e300,
        "",
        "x",
        "Bed 2",
        "unknown",
        [],
        [1],
        {},
        {"value": 1},
        {"value": {}},
        [[1]],
    ]
    judged = set()
    for round_ in range(300):
        data = json.loads(json.dumps(RECORDS[round_ % 2]))
        damage(data, random, junk)
        try:
            job_model("si" if data.get("units") == "si" else "ip").model_validate(data)
            reads = True
        except ValidationError:
            reads = False
        judged.add(reads)
        assert VALIDATOR.is_valid(data) == reads, data
    assert judged == {True, False}


def test_every_field_of_the_dictionary_is_described_with_its_unit_and_words() -> None:
    text = json.dumps(SCHEMA, ensure_ascii=False)
    for kind in KINDS.values():
        for field in kind.fields.values():
            if field.section == "derived":
                continue
            assert field.title in text
            for unit in filter(None, (field.unit, field.si_unit)):
                assert f"{field.title} [{unit}]" in text
            if field.form == "word":
                assert f"{field.title}: {', '.join(field.words)}" in text
