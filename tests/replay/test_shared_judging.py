"""What two policies judge and size alike is worked out once, and comes out as when each policy does so for itself.

The oracle is an evaluation under the second policy alone. Edits are random, jobs are shipped ones and a made one.
"""

import random
from collections.abc import Callable, Mapping
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
from airwarrant.replay.in_common import same_checks, same_sizes
from airwarrant.replay.outcome import outcome_of
from airwarrant.replay.shared_air import SharedAir
from airwarrant.replay.shared_judging import SharedJudging
from airwarrant.replay.shared_sizes import SharedSizes
from airwarrant.rules.seen import Seen
from airwarrant.shipped import shipped
from airwarrant.sizing.sized import Sized

_MARKET, _EDITS = "copper-basin", 12


@cache
def _policy() -> Policy:
    return compose(shipped("policies"), _MARKET, {})


@cache
def _records() -> tuple[JobRecord, ...]:
    shown = [read_job(shipped("scenarios") / f"job-{job}.toml") for job in ("1042", "3390", "4471")]
    return (*shown, made(11, 4, _MARKET).record())


@pytest.mark.parametrize("seed", range(3))
def test_a_shared_verdict_or_size_is_that_of_either_policy(seed: int) -> None:
    rng = random.Random(seed)
    air, judging, sizing = SharedAir(), SharedJudging(), SharedSizes()
    compared = 0
    with Evaluator(_policy(), air, detail=False, judging=judging, sizing=sizing) as first:
        for _ in range(_EDITS):
            policy, names = edited(_policy(), rng, 1 if rng.random() < 0.8 else 3)
            record = rng.choice(_records())
            try:
                alone = Evaluator(policy, detail=False)
                second = Evaluator(policy, air, detail=False, judging=judging, sizing=sizing)
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
            assert _told(run.sizes) == _told(expected.sizes), names
            assert outcome_of(run) == outcome_of(expected), names
            air.forget()
            judging.forget()
            sizing.forget()
            compared += 1
    assert compared >= _EDITS // 2


def _told(sizes: Mapping[str, Sized]) -> dict[str, list[object]]:
    """Every size as the result file has it, with its numbers and proofs."""
    return {line: [one.as_json(one.text) for one in sized.sizes] for line, sized in sizes.items()}


@pytest.mark.parametrize(("same", "held"), [(same_checks, "checks"), (same_sizes, "tasks")])
def test_a_check_or_size_is_common_only_with_all_that_it_rests_on(
    same: Callable[[Policy, Policy], frozenset[str]], held: str
) -> None:
    policy = _policy()
    assert same(policy, policy) == frozenset(getattr(policy, held))
    rng = random.Random(1)
    fewer = 0
    for _ in range(30):
        other, _ = edited(policy, rng)
        common = same(policy, other)
        assert common == same(other, policy)
        fewer += len(common) < len(getattr(policy, held))
    assert fewer
