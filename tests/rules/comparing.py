"""Comparing both evaluators on random policies and jobs; a script prints a digest of all outcomes.

``python comparing.py SEED PAIRS`` prints ``PAIRS DIFFERENCES DIGEST``.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from random import Random

from strategies import random_facts, random_rules, shuffled

from airwarrant.errors import PolicyError
from airwarrant.rules.engine import Engine, Outcome
from airwarrant.rules.reference import evaluate

JOBS_PER_POLICY = 8
REFUSED = {"too-many-clauses", "group-too-large"}


@dataclass(frozen=True, slots=True)
class Pair:
    """One policy on one job: what the engine said, and whether the reference and a shuffled job agree."""

    seed: int
    job: int
    outcome: Outcome
    equal: bool
    order_free: bool


def pairs(seed: int, count: int) -> Iterator[Pair]:
    """Yield `count` pairs; policies that are refused for their size are passed over."""
    made = 0
    while made < count:
        random = Random(seed)
        rules = random_rules(random)
        try:
            engine = Engine(rules)
        except PolicyError as error:
            if not {fault.code for fault in error.faults} <= REFUSED:
                raise
        else:
            with engine:
                for job in range(min(JOBS_PER_POLICY, count - made)):
                    facts = random_facts(random)
                    outcome = engine.run(facts)
                    equal = (outcome.firings, outcome.atoms) == evaluate(rules, facts)
                    again = engine.run(shuffled(random, facts)) if job == 0 else outcome
                    made += 1
                    yield Pair(seed, job, outcome, equal, again == outcome)
        seed += 1


if __name__ == "__main__":
    total, wrong, digest = 0, 0, sha256()
    for pair in pairs(int(sys.argv[1]), int(sys.argv[2])):
        total += 1
        wrong += not (pair.equal and pair.order_free)
        digest.update(repr((pair.outcome.firings, sorted(pair.outcome.atoms), pair.outcome.supports)).encode())
    print(total, wrong, digest.hexdigest())
