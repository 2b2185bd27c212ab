"""Every shipped job under a market of each region comes to what is on file; and the differences between regions are the meant ones.

Files to review, under ``scenarios/regions/``: one a job, and ``differences.toml``. After a change that is meant:
``python tests/scenarios/write_outcomes.py``, then read ``git diff scenarios/regions``.
"""

from collections.abc import Iterator

import pytest

from airwarrant.session import Session
from jobs import JOBS, POLICIES
from scenarios.outcomes import FOLDER, MARKETS, changes, evaluated, kept


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
