"""Reach never leaves out a job that a change of policy changes: held to the full evaluation of both policies on random pairs.

The oracle is the evaluation itself, which knows nothing of reach; jobs are the shipped ones and made ones, edits are random.
"""

import random
from collections.abc import Iterator
from functools import cache

import pytest
from random_edits import edited

from airwarrant.errors import AirwarrantError
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import read_job
from airwarrant.job.record import JobRecord
from airwarrant.made_jobs.made import made
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from airwarrant.replay.facts import facts_of, outcome_in
from airwarrant.replay.layout import Layout
from airwarrant.replay.outcome import Outcome, outcome_of
from airwarrant.replay.reach import Reach
from airwarrant.rules.seen import Seen
from airwarrant.run import Run
from airwarrant.shipped import shipped

_MARKET, _MADE, _EDITS, _JOBS = "copper-basin", 25, 30, 3


@cache
def _policy() -> Policy:
    return compose(shipped("policies"), _MARKET, {})


def _records() -> Iterator[JobRecord]:
    for path in sorted(shipped("scenarios").glob("job-*.toml")):
        if path.stem.removeprefix("job-").isdigit():
            yield read_job(path)
    for k in range(1, _MADE + 1):
        yield made(11, k, _MARKET).record()


@cache
def _evaluated() -> tuple[tuple[JobRecord, Run, Seen], ...]:
    found = []
    with Evaluator(_policy(), detail=False) as evaluator:
        for record in _records():
            seen = Seen()
            found.append((record, evaluator.run(record, seen=seen), seen))
    return tuple(found)


def _outcome(evaluator: Evaluator, record: JobRecord) -> Outcome | None:
    try:
        return outcome_of(evaluator.run(record))
    except AirwarrantError:
        return None


@pytest.mark.parametrize("seed", range(4))
def test_what_a_change_changes_lies_within_its_reach(seed: int) -> None:
    rng = random.Random(seed)
    pairs = apart = 0
    for _ in range(_EDITS):
        policy, names = edited(_policy(), rng, 1 if rng.random() < 0.8 else 3)
        reach = Reach(_policy(), policy)
        try:
            evaluator = Evaluator(policy, detail=False)
        except AirwarrantError:
            continue  # a policy that its own checks refuse changes no job
        with evaluator:
            for record, run, seen in rng.sample(_evaluated(), _JOBS):
                hits = reach.hits_of(facts_of(run, seen, reach.layout))
                assert reach.hits_of(facts_of(run, seen, reach.layout, reach.checks)) == hits
                touched = bool(hits)
                changed = outcome_of(run) != _outcome(evaluator, record)
                assert touched or not changed, (names, record.id, [impact.name for impact in reach.impacts])
                pairs += 1
                apart += not touched
    # Reach that calls everything touched would be sound and of no use.
    assert pairs >= 60
    assert apart >= pairs // 4


def test_the_same_policy_touches_nothing() -> None:
    assert not Reach(_policy(), _policy()).impacts


def test_what_an_evaluation_came_to_stands_whole_behind_its_facts() -> None:
    layout = Layout(_policy())
    kept = 0
    for _, run, seen in _evaluated():
        found = outcome_in(facts_of(run, seen, layout), layout)
        assert found in (None, outcome_of(run))
        kept += found is not None
    assert kept >= len(_evaluated()) * 9 // 10


def test_facts_of_another_policy_are_not_trusted() -> None:
    _, run, seen = _evaluated()[0]
    other, _ = edited(_policy(), random.Random(3))
    facts = facts_of(run, seen, Reach(_policy(), other).layout)
    reach = Reach(other, _policy())
    assert reach.decide([facts, None, b"", facts[:-1]]).tolist() == [True] * 4
