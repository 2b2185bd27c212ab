"""Every shipped job under a market of each region comes to what is on file; and the differences between regions are the meant ones.

Files to review, under ``scenarios/regions/``: one a job, and ``differences.toml``. After a change that is meant:
``python tests/scenarios/write_outcomes.py``, then read ``git diff scenarios/regions``.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from airwarrant.job.reading_records import read_job
from airwarrant.session import Session
from jobs import JOBS, POLICIES, SCENARIOS
from scenarios.outcomes import FOLDER, MARKETS, changes, kept, outcome
from scenarios.region_differences import Difference, Evaluations, differences, found, taken_over

DIFFERENCES = tuple(differences())


@pytest.fixture(scope="module")
def evaluations() -> Iterator[Evaluations]:
    with Session(POLICIES) as session:
        yield Evaluations(session)


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("market", MARKETS)
def test_a_job_under_a_market_comes_to_what_is_on_file(evaluations: Evaluations, job: str, market: str) -> None:
    now = outcome(evaluations.result(read_job(SCENARIOS / f"job-{job}.toml"), market))
    moved = list(changes(kept(job)[market], now, job, market))
    assert not moved, "\n".join(["what this job comes to has changed:", *moved])


def test_every_job_is_on_file_under_every_region() -> None:
    assert {path.stem for path in FOLDER.glob("[0-9]*.toml")} == set(JOBS)
    assert all(tuple(kept(job)) == MARKETS for job in JOBS)


@pytest.mark.parametrize("difference", DIFFERENCES, ids=lambda one: one.id)
def test_a_difference_between_markets_is_as_on_file_and_its_value_makes_it(
    evaluations: Evaluations, difference: Difference, tmp_path: Path
) -> None:
    """With the value taken over from there, and nothing else, the job comes to here what it comes to there."""
    here, there = (found(evaluations, difference, side) for side in (difference.here, difference.there))
    assert (here, there) == (difference.here, difference.there), difference.says
    assert here.comes_to != there.comes_to
    assert here.holds != there.holds
    assert taken_over(evaluations, tmp_path, difference) == there.comes_to, difference.says


def test_differences_speak_of_every_region_and_every_job() -> None:
    assert len(DIFFERENCES) >= 12
    assert {side.market for one in DIFFERENCES for side in (one.here, one.there)} >= set(MARKETS)
    assert {one.job for one in DIFFERENCES} == set(JOBS)
