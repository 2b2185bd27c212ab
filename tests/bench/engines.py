"""The same rules and facts on the engine, the reference evaluator and CLIPS; memory over many evaluations.

`python tests/bench/engines.py [--evaluations 50000] [--seed 3]` prints one table. Nothing here asserts a time.
"""

import argparse
import gc
import platform
import resource
import sys
import time
from collections.abc import Callable, Mapping
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[1] / "rules"))

from strategies import random_facts, random_rules

from airwarrant.errors import PolicyError
from airwarrant.policy.model import Rule
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.doubt import Doubt
from airwarrant.rules.engine import Engine
from airwarrant.rules.expand import expand
from airwarrant.rules.facts import Facts, Firing
from airwarrant.rules.reference import evaluate
from airwarrant.rules.walk import Walker

RULES, SUBJECTS, JOBS = 70, 40, 50


def workload(seed: int) -> tuple[Mapping[str, Rule], list[Facts]]:
    """Some 70 rules that the engine takes, and jobs of about 40 subjects."""
    while True:
        random = Random(seed)
        rules = {name: rule for name, rule in random_rules(random, 4 * RULES).items() if _taken(name, rule)}
        if len(rules) >= RULES:
            kept = {name: rules[name] for name in sorted(rules)[:RULES]}
            jobs = [random_facts(random, 20) for _ in range(20 * JOBS)]
            return kept, [job for job in jobs if abs(_size(job) - SUBJECTS) <= 3][:JOBS]
        seed += 1


def _taken(name: str, rule: Rule) -> bool:
    try:
        return bool(expand(name, rule))
    except PolicyError:
        return False


def _size(facts: Facts) -> int:
    return sum(map(len, facts.subjects.values()))


def row(name: str, work: Callable[[Facts], object], jobs: list[Facts], passes: int = 10) -> None:
    took = []
    for number in range(passes + 1):
        for job in jobs:
            start = time.perf_counter()
            work(job)
            if number:  # the first pass is warm-up
                took.append(1000.0 * (time.perf_counter() - start))
    took.sort()
    print(f"{name:52s} {took[len(took) // 2]:9.3f} {took[int(0.95 * (len(took) - 1))]:9.3f} {len(took):7d}")


def resident_mb() -> float:
    """Memory of the process now; its peak where the system does not tell."""
    statm = Path("/proc/self/statm")
    if statm.exists():
        return int(statm.read_text().split()[1]) * resource.getpagesize() / 2**20
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "absent"


def clips_run(rules: Mapping[str, Rule]) -> Callable[[Facts], tuple[Firing, ...]] | None:
    """Run the rules on CLIPS, where it is installed."""
    if find_spec("clips") is None:
        return None
    from clips_rules import ClipsEngine

    return ClipsEngine(rules).run


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--evaluations", type=int, default=50_000, help="evaluations of the memory run")
    parser.add_argument("--seed", type=int, default=3)
    given = parser.parse_args()
    rules, jobs = workload(given.seed)
    print(
        f"{platform.machine()}, {platform.system()}, Python {platform.python_version()}, "
        f"durable_rules {_version('durable-rules')}, clipspy {_version('clipspy')}; seed {given.seed}"
    )
    start = time.perf_counter()
    engine = Engine(rules)
    built = 1000.0 * (time.perf_counter() - start)
    outcomes = [engine.run(job) for job in jobs]
    print(
        f"{len(rules)} rules, {len(jobs)} jobs of about {SUBJECTS} subjects, "
        f"{sum(len(outcome.firings) for outcome in outcomes) / len(jobs):.0f} firings a job; compiled in {built:.0f} ms"
    )
    clips = clips_run(rules)
    wrong = sum((o.firings, o.atoms) != evaluate(rules, job) for o, job in zip(outcomes, jobs, strict=True))
    wrong_clips = sum(o.firings != clips(job) for o, job in zip(outcomes, jobs, strict=True)) if clips else 0
    print(f"jobs that differ: reference {wrong}, CLIPS {wrong_clips if clips else 'not installed'}")
    print(f"{'ms a job':52s} {'p50':>9s} {'p95':>9s} {'n':>7s}")
    row("durable-rules", engine.run, jobs)
    row("reference evaluator", lambda job: evaluate(rules, job), jobs, 3)
    if clips:
        row("CLIPS", clips, jobs, 3)
    walker, doubt = Walker(rules), Doubt(rules)
    closed = {id(job): outcome.atoms for job, outcome in zip(jobs, outcomes, strict=True)}
    row("walk over every rule and subject", lambda job: walker.walk(job, closed[id(job)]), jobs)
    asked = sorted({check for rule in rules.values() for check in checks_read(rule)})
    row(
        "what one doubtful verdict decides, two words tried",
        lambda job: doubt.would_lead(
            job, closed[id(job)], (*asked[len(job.verdicts) % len(asked)], "house"), ("pass", "fail")
        ),
        jobs,
        2,
    )
    gc.collect()
    small = [random_facts(Random(number), 2) for number in range(JOBS)]
    print("memory over small jobs, MB:", end=" ")
    for number in range(given.evaluations + 1):
        if number % max(1, given.evaluations // 5) == 0:
            print(f"{number}: {resident_mb():.1f}", end="  ", flush=True)
        engine.run(small[number % len(small)])
    print()
    engine.close()
    return 1 if wrong or wrong_clips else 0


if __name__ == "__main__":
    sys.exit(main())
