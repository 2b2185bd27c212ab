"""A past record read without places says what the whole reader says of it; the whole reader is the oracle."""

import random
from dataclasses import replace

import pytest

from airwarrant.errors import RecordError
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from airwarrant.made_jobs.made import made
from airwarrant.replay.past_records import read_past
from airwarrant.shipped import shipped
from mutating import mutate


def _digest(text: bytes, file: str, *, past: bool) -> str | tuple[str, ...]:
    try:
        record = (read_past if past else parse_job)(text, file)
    except RecordError as error:
        return tuple(map(str, error.faults))
    return record.digest


def _placeless(record: JobRecord) -> object:
    items = {key: replace(item, place=None, numbers={}) for key, item in record.items.items()}
    return replace(record, items=items, word_places={}, visits=(), old={}, new={}, overrides=(), choices=())


@pytest.mark.parametrize("k", range(1, 9))
def test_a_made_record_says_the_same(k: int) -> None:
    one = made(33, k)
    text = one.text.encode()
    assert _placeless(read_past(text, one.file)) == _placeless(parse_job(text, one.file))
    assert read_past(text, one.file).digest == parse_job(text, one.file).digest


def test_a_spoilt_record_is_refused_for_the_same_or_says_the_same() -> None:
    rng = random.Random(8)
    text = (shipped("scenarios") / "job-1042.toml").read_text()
    for _ in range(60):
        spoilt = mutate(text, rng).encode()
        past, whole = (_digest(spoilt, "job.toml", past=past) for past in (True, False))
        assert past == whole
