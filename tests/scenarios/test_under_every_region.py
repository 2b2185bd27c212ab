"""Every shipped job under a market of each region comes to what is on file; and the differences between regions are the meant ones.

Files to review, under ``scenarios/regions/``: one a job, and ``differences.toml``. After a change that is meant:
``python tests/scenarios/write_outcomes.py``, then read ``git diff scenarios/regions``.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from airwarrant.session import Session
from jobs import JOBS, POLICIES
from scenarios.outcomes import FOLDER, MARKETS, changes, evaluated, kept
from scenarios.region_differences import Difference, differences, found, taken_over

DIFFERENCES = tuple(differences())


@pytest.fixture(scope="module")
def session() -> Iterator[Session]:
    with Session(POLICIES) as session:
        yield session


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("market", MARKETS)
def test_a_job_under_a_market_comes_to_what_is_on_file(session: Session, job: str, market: str) -> None:
    found = list(changes(kept(job)[market], evaluated(session, job, market), job, market))
    assert not found, "\n".join(["what this job comes to has changed:", *found])


def test_every_job_is_on_file_under_every_region() -> None:
    assert {path.stem for path in FOLDER.glob("[0-9]*.toml")} == set(JOBS)
    assert all(tuple(kept(job)) == MARKETS for job in JOBS)


@pytest.mark.parametrize("difference", DIFFERENCES, ids=lambda one: one.id)
def test_a_difference_between_markets_is_as_on_file_and_its_value_makes_it(
    session: Session, difference: Difference, tmp_path: Path
) -> None:
    """With the value taken over from there, and nothing else, the job comes to here what it comes to there."""
    here, there = (found(session, difference, side) for side in (difference.here, difference.there))
    assert (here, there) == (difference.here, difference.there), difference.says
    assert here.comes_to != there.comes_to
    assert here.holds != there.holds
    assert taken_over(tmp_path, difference) == there.comes_to, difference.says


def test_differences_speak_of_every_region_and_every_job() -> None:
    assert len(DIFFERENCES) >= 12
    assert {side.market for one in DIFFERENCES for side in (one.here, one.there)} >= set(MARKETS)
    assert {one.job for one in DIFFERENCES} == set(JOBS)
