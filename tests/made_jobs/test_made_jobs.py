"""Made jobs: the same for the same seed, sound as records, and of one physical house whatever was planted."""

import json
import re
from pathlib import Path

import pytest

from airwarrant.errors import CallError
from airwarrant.job.reading_records import job_document
from airwarrant.job.test_out import with_test_out
from airwarrant.made_jobs import figures
from airwarrant.made_jobs.causes import Planted
from airwarrant.made_jobs.folder import CAUSES, TEST_OUTS, write_jobs
from airwarrant.made_jobs.made import MadeJob, made
from airwarrant.made_jobs.markets import climates_of, shipped_climates
from airwarrant.made_jobs.stream import Stream
from airwarrant.policy.files import market_names
from airwarrant.shipped import shipped

SEED = 11
CLIMATES = shipped_climates()


@pytest.fixture(scope="module")
def jobs() -> list[MadeJob]:
    return [made(SEED, k) for k in range(1, 121)]


def test_every_shipped_market_has_a_climate_and_jobs(jobs: list[MadeJob]) -> None:
    assert set(CLIMATES) == set(market_names(shipped("policies")))
    assert {job.market for job in jobs} == set(CLIMATES)


def test_a_job_does_not_depend_on_how_many_are_made(tmp_path: Path) -> None:
    write_jobs(tmp_path / "few", 3, SEED, CLIMATES)
    write_jobs(tmp_path / "more", 6, SEED, CLIMATES)
    for k in (1, 2, 3):
        name = f"job-made-{SEED}-{k}.toml"
        assert (tmp_path / "few" / name).read_bytes() == (tmp_path / "more" / name).read_bytes()


def test_the_same_seed_gives_the_same_bytes_and_another_seed_others(tmp_path: Path) -> None:
    for name, seed in (("one", SEED), ("again", SEED), ("other", SEED + 1)):
        write_jobs(tmp_path / name, 4, seed, CLIMATES)
    one, again, other = (
        {path.name: path.read_bytes() for path in sorted((tmp_path / name).rglob("*")) if path.is_file()}
        for name in ("one", "again", "other")
    )
    assert one == again
    assert set(one.values()).isdisjoint(other.values())


def test_a_market_can_be_asked_for() -> None:
    assert {made(SEED, k, "fog-harbor").market for k in range(1, 6)} == {"fog-harbor"}
    assert climates_of((shipped("policies"),), "fog-harbor") == {"fog-harbor": "marine"}
    with pytest.raises(CallError) as caught:
        climates_of((shipped("policies"),), "fog-harbr")
    assert "fog-harbor" in caught.value.faults[0].advice


def test_every_record_reads_without_a_fault_and_is_marked_as_a_demo(jobs: list[MadeJob]) -> None:
    for job in jobs:
        record = job.record()
        assert record.demo, job.id
        assert record.id == job.id
        assert record.market == job.market


def test_every_test_out_fits_its_record(jobs: list[MadeJob]) -> None:
    built = [job for job in jobs if job.test_out]
    assert built
    for job in built:
        document = job_document(job.text.encode(), job.file)
        visits = with_test_out(document, job.test_out.encode(), job.test_out_file).visits
        assert [visit.kind for visit in visits][-1] == "test-out"


def test_what_was_planted_stands_beside_the_jobs(tmp_path: Path) -> None:
    write_jobs(tmp_path, 30, SEED, CLIMATES)
    told = json.loads((tmp_path / CAUSES).read_text())
    assert [one["job"] for one in told["jobs"]] == [f"made-{SEED}-{k}" for k in range(1, 31)]
    for one in told["jobs"]:
        text = (tmp_path / f"job-{one['job']}.toml").read_text()
        assert one["job"] in text
        assert all(cause["cause"] in text for cause in one["causes"])
        places = {cause["place"] for cause in one["causes"]} - {"house"}
        assert all(re.search(rf'^id = "{place}"$', text, re.MULTILINE) for place in places)
        built = any(cause["cause"] == "test-out" for cause in one["causes"])
        assert (tmp_path / TEST_OUTS / f"test-out-{one['job']}.toml").is_file() == built


def test_every_cause_of_a_room_lies_in_a_room_of_its_own(jobs: list[MadeJob]) -> None:
    several = [
        [job.places[one] for one in job.planted.causes if figures.text(f"cause/{one}/of") == "room"] for job in jobs
    ]
    assert max(map(len, several)) == 2
    assert all("house" not in rooms and len(set(rooms)) == len(rooms) for rooms in several)


def test_nobody_is_named(jobs: list[MadeJob]) -> None:
    for job in jobs:
        assert "address" not in job.text
        assert "customer" not in job.text


def test_a_healthy_house_has_no_cause_of_house_or_record(jobs: list[MadeJob]) -> None:
    healthy = [job.planted for job in jobs if job.planted.healthy]
    assert healthy
    of_visits = {"test-out", "line-overridden", "line-declined", "poor-work"}
    assert all(set(one.causes) <= of_visits for one in healthy)


def test_planted_holds_its_causes() -> None:
    assert "leaky-ducts" in Planted(False, ("leaky-ducts",))


def test_chance_is_even_and_normal() -> None:
    # Means and spreads of 20,000 numbers: the standard errors are 0.002, 0.001, 0.007 and 0.005; bounds are four of them.
    stream = Stream(5, 1, 0)
    even = [stream.between((0.0, 1.0)) for _ in range(20_000)]
    assert abs(sum(even) / 20_000 - 0.5) < 0.0082
    assert abs(sum((x - 0.5) ** 2 for x in even) / 20_000 - 1.0 / 12.0) < 0.003
    normal = [stream.normal(2.0) for _ in range(20_000)]
    assert abs(sum(normal) / 20_000) < 4.0 * 2.0 / 20_000**0.5
    # Cut off at three deviations the variance is 0.973 of the whole normal distribution's.
    assert abs(sum(x * x for x in normal) / 20_000 / 4.0 - 0.973) < 0.04
