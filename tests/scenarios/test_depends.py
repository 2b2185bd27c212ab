"""Which shipped job depends on what stands on file, and `airwarrant policy show` reads it there.

After a change that is meant: ``python tests/scenarios/write_depends.py``, then read ``git diff scenarios/depends.json``.
"""

import json

import pytest

from airwarrant.desks.depends import ALL, FILE, jobs_on_file, names_read, shipped_jobs
from airwarrant.job.reading_records import read_job
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names
from airwarrant.policy.history import history
from airwarrant.session import Session
from jobs import JOBS, POLICIES, SCENARIOS

HELD = json.loads((SCENARIOS / FILE).read_text(encoding="utf-8"))
MARKETS = market_names(POLICIES)


def test_every_market_and_every_job_is_on_file() -> None:
    assert tuple(HELD["markets"]) == MARKETS
    assert set(HELD["jobs"]) == {job for job, _ in shipped_jobs()} == set(JOBS)


@pytest.mark.parametrize("market", MARKETS)
def test_what_is_on_file_is_what_the_jobs_come_from_now(market: str) -> None:
    names = {name: held for name, held in HELD.items() if ":" in name}
    with Session(POLICIES) as session:
        for job, path in shipped_jobs():
            now = {f"{s}:{n}" for s, n in names_read(session.evaluate(read_job(path), market=market))}
            on_file = {name for name, held in names.items() if job in held.get(market, held.get(ALL, "")).split()}
            assert now == on_file, f"job {job}: run `python tests/scenarios/write_depends.py` and read what changed"


def test_a_figure_stands_with_the_checks_that_read_it_and_what_is_not_shipped_is_not_known() -> None:
    policy = compose(POLICIES, "copper-basin", {})
    assert jobs_on_file("copper-basin", history(policy, "airflow_per_ton")) == jobs_on_file(
        "copper-basin", history(policy, "airflow")
    )
    assert jobs_on_file("no-such-market", history(policy, "airflow")) is None
    assert jobs_on_file("copper-basin", history(policy, "scope.wide-elbow")) == ("1042",)
