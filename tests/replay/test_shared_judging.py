"""What two policies judge alike is judged once, and every verdict comes out as when each policy judges for itself.

The oracle is an evaluation under the second policy alone. Edits are random, jobs are shipped ones and a made one.
"""

import random
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
from airwarrant.replay.outcome import outcome_of
from airwarrant.replay.shared_air import SharedAir
from airwarrant.replay.shared_judging import SharedJudging, same_checks
from airwarrant.rules.seen import Seen
from airwarrant.shipped import shipped

_MARKET, _EDITS = "copper-basin", 12


@cache
def _policy() -> Policy:
    return compose(shipped("policies"), _MARKET, {})


@cache
def _records() -> tuple[JobRecord, ...]:
    shown = [read_job(shipped("scenarios") / f"job-{job}.toml") for job in ("1042", "3390", "4471")]
    return (*shown, made(11, 4, _MARKET).record())


@pytest.mark.parametrize("seed", range(3))
def test_a_shared_verdict_is_the_verdict_of_either_policy(seed: int) -> None:
    rng = random.Random(seed)
    air, judging = SharedAir(), SharedJudging()
    compared = 0
    with Evaluator(_policy(), air, detail=False, judging=judging) as first:
        for _ in range(_EDITS):
            policy, names = edited(_policy(), rng, 1 if rng.random() < 0.8 else 3)
            record = rng.choice(_records())
            try:
                alone, second = Evaluator(policy, detail=False), Evaluator(policy, air, detail=False, judging=judging)
            except AirwarrantError:
                continue  # a policy that its own checks refuse judges nothing
            with alone, second:
                first.run(record, seen=Seen())
                try:
                    expected = alone.run(record)
                except AirwarrantError:
                    continue
                run = second.run(record)
            assert run.verdicts == expected.verdicts, names
            assert outcome_of(run) == outcome_of(expected), names
            air.forget()
            judging.forget()
            compared += 1
    assert compared >= _EDITS // 2


def test_a_check_is_common_only_with_all_that_it_rests_on() -> None:
    policy = _policy()
    assert same_checks(policy, policy) == frozenset(policy.checks)
    rng = random.Random(1)
    fewer = 0
    for _ in range(30):
        other, _ = edited(policy, rng)
        common = same_checks(policy, other)
        assert common == same_checks(other, policy)
        fewer += len(common) < len(policy.checks)
    assert fewer
