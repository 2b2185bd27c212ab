"""Every line that a shipped scenario leaves out or holds, and what would bring it in."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import Any

from airwarrant.desks.flips import Job
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import job_document, record_of
from airwarrant.policy.compose import compose
from airwarrant.policy.files import policy_texts
from airwarrant.result.document import document
from jobs import POLICIES, SCENARIOS


@dataclass(frozen=True, slots=True)
class Left:
    """A line that is not in the scope of a scenario."""

    job: str
    task: str
    place: str
    how: str

    @property
    def id(self) -> str:
        return f"{self.task}@{self.place}"


@contextmanager
def opened(job: str) -> Iterator[Job]:
    """An evaluated scenario, to be changed."""
    text = (SCENARIOS / f"job-{job}.toml").read_bytes()
    made = job_document(text, f"job-{job}.toml")
    record = record_of(made)
    with Evaluator(compose(POLICIES, record.market, record.dates), detail=False) as evaluator:
        yield Job(made, evaluator, evaluator.run(record))


@cache
def files(job: str) -> dict[str, str]:
    """Texts of the policy files of a scenario."""
    record = record_of(job_document((SCENARIOS / f"job-{job}.toml").read_bytes(), f"job-{job}.toml"))
    return policy_texts((POLICIES,), record.market, record.dates)


def left(job: str, opened_job: Job) -> list[Left]:
    """Lines declined, left out, not called for and held, in order."""
    result: dict[str, Any] = document(opened_job.run)
    out = [Left(job, one["task"], one["place"], one["how"]) for one in result["declined"]]
    out += [Left(job, one["task"], one["place"], "held") for one in result["lines"] if one["state"] == "held"]
    return out
