"""Spoiled records and policy files end in a listed error or a result; the thousands are in tests/bench/mutations.py."""

import random
import sys
import tomllib
from pathlib import Path
from shutil import copyfile, copytree

import pytest

from airwarrant.errors import InputError
from airwarrant.job.reading_records import parse_job
from airwarrant.session import Session
from jobs import JOBS, POLICIES, SCENARIOS
from mutating import mutate


@pytest.mark.parametrize("job", JOBS)
def test_a_spoiled_record_ends_in_listed_faults_or_a_result(job: str) -> None:
    rng = random.Random(f"record {job}")
    text = (SCENARIOS / f"job-{job}.toml").read_text()
    refused = 0
    with Session(POLICIES) as session:
        for _ in range(100):
            try:
                session.evaluate(parse_job(mutate(text, rng).encode(errors="surrogatepass"), "job.toml"))
            except InputError as error:
                refused += 1
                assert error.faults
                assert all(fault.found and fault.code for fault in error.faults)
                assert error.exit_status == 2
    assert refused > 20


@pytest.mark.parametrize("part", range(4))
def test_a_spoiled_policy_file_ends_in_listed_faults_with_their_place_or_a_result(tmp_path: Path, part: int) -> None:
    rng = random.Random(f"policy {part}")
    copy = tmp_path / "policies"
    copytree(POLICIES, copy)
    # Files of this job's market: a slip in a layer that it does not name is none of its business.
    market = tomllib.loads((POLICIES / "markets/copper-basin.toml").read_text())["market"]
    files = sorted(file for layer in market["layers"] for file in (POLICIES / layer).rglob("*.toml"))
    files.append(POLICIES / "markets/copper-basin.toml")
    record = parse_job((SCENARIOS / "job-1042.toml").read_bytes(), "job-1042.toml")
    refused = 0
    for _ in range(30):
        source = rng.choice(files)
        target = copy / source.relative_to(POLICIES)
        target.write_bytes(mutate(source.read_text(), rng).encode(errors="surrogatepass"))
        try:
            with Session(copy) as session:
                session.evaluate(record)
        except InputError as error:
            refused += 1
            assert error.faults
            assert any(fault.place is not None for fault in error.faults), error
        copyfile(source, target)
    assert refused > 10


def test_python_is_not_driven_out_of_its_stack_by_nesting() -> None:
    for text in (b"a = " + b"[" * 5000 + b"]" * 5000, b'{"a":' * 5000 + b"1" + b"}" * 5000):
        for file in ("job.toml", "job.json"):
            with pytest.raises(InputError):
                parse_job(text, file)
    assert sys.getrecursionlimit() <= 1_100
