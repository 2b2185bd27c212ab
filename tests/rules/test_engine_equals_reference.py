"""The engine and the reference evaluator say the same on random policies and jobs."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from comparing import REFUSED, pairs
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import VERDICTS, random_facts, random_rules

from airwarrant.errors import PolicyError
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.doubt import Doubt
from airwarrant.rules.engine import Engine
from airwarrant.rules.reference import evaluate
from airwarrant.rules.verify import consistent, verify
from airwarrant.rules.walk import Walker, walk


def test_both_evaluators_agree_on_5000_random_pairs_in_whatever_order_the_job_is_given() -> None:
    fired = chained = alternatives = gated = deep = 0
    for pair in pairs(seed=1, count=5_000):
        assert pair.equal, pair
        assert pair.order_free, pair
        outcome = pair.outcome
        fired += len(outcome.firings)
        deep += any(outcome.strata[firing.rule] for firing in outcome.firings)
        for supports in outcome.supports.values():
            alternatives += len(supports) > 1
            read = {fact[0] for support in supports for fact in support}
            chained += bool(read & {"finding", "line"})
            gated += "gate" in read
    # The random policies are worth the name: they fire, chain, branch, negate and reach upper strata.
    assert min(fired // 5, chained, alternatives, gated, deep) > 500, (fired, chained, alternatives, gated, deep)


@settings(max_examples=80, deadline=None)
@given(st.integers(min_value=0, max_value=2**48))
def test_both_evaluators_and_the_walk_agree(seed: int) -> None:
    random = Random(seed)
    rules = random_rules(random, most=30)
    try:
        engine = Engine(rules)
    except PolicyError as error:
        assert {fault.code for fault in error.faults} <= REFUSED
        return
    with engine:
        walker = Walker(rules)
        for _ in range(3):
            facts = random_facts(random, most=8)
            outcome = engine.run(facts)
            verify(outcome, rules, facts)
            walked = walker.walk(facts, outcome.atoms)
            consistent(outcome, walked)
            assert walked == walk(rules, facts, outcome.atoms)
            assert set(outcome.supports) == set(outcome.firings)
            assert all(outcome.supports.values())


def test_what_a_verdict_would_lead_to_is_what_a_whole_evaluation_would_add() -> None:
    led = 0
    for seed in range(1_000):
        random = Random(seed)
        rules, facts = random_rules(random), random_facts(random)
        _, atoms = evaluate(rules, facts)
        keys = [subject.key for held in facts.subjects.values() for subject in held]
        asked = sorted({check for one in rules.values() for check in checks_read(one)}) or [("flow", "found")]
        doubt = Doubt(rules)
        for _ in range(12):
            verdict = (*random.choice(asked), random.choice(keys))
            word = random.choice(VERDICTS)
            _, then = evaluate(rules, replace(facts, verdicts={**facts.verdicts, verdict: word}))
            added = frozenset(atom for atom in then - atoms if atom.what == "line")
            assert doubt.would_lead(facts, atoms, verdict, (word,)) == added
            led += bool(added)
    assert led > 40


def run_apart(seed: int, count: int, **environment: str) -> str:
    done = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("comparing.py")), str(seed), str(count)],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
        env={**os.environ, **environment},
    )
    return done.stdout.strip()


@pytest.mark.parametrize("hash_seed", ["1", "random"])
def test_the_order_of_sets_in_memory_changes_nothing(hash_seed: str) -> None:
    assert run_apart(7, 400, PYTHONHASHSEED=hash_seed) == run_apart(7, 400, PYTHONHASHSEED="0")


def test_no_freed_memory_is_read() -> None:
    """Freed memory is overwritten at once, so that whoever reads it reads something else."""
    total, wrong, _ = run_apart(50_000, 1_000, MALLOC_PERTURB_="165").split()
    assert (total, wrong) == ("1000", "0")
