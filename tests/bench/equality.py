"""The engine against the reference evaluator on many random pairs of policy and job.

`python tests/bench/equality.py [--pairs 100000] [--seed 1]` prints how many pairs were compared and how many differ, with
the seeds of the first that do, and ends with status 1 if any does. Progress goes to stderr.
"""

import argparse
import os
import platform
import sys
import time
from importlib.metadata import version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "rules"))

from comparing import pairs


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    start = time.perf_counter()
    differing: list[str] = []
    count = firings = 0
    for pair in pairs(given.seed, given.pairs):
        count += 1
        firings += len(pair.outcome.firings)
        if not (pair.equal and pair.order_free):
            differing.append(f"seed {pair.seed} job {pair.job}: {'order' if pair.equal else 'reference'}")
        if count % 5_000 == 0:
            print(f"{count} pairs, {len(differing)} differ", file=sys.stderr, flush=True)
    print(f"{platform.machine()}, Python {platform.python_version()}, durable_rules {version('durable-rules')}")
    print(f"seed {given.seed}, MALLOC_PERTURB_={os.environ.get('MALLOC_PERTURB_', 'unset')}")
    print(f"{count} pairs, {firings} firings, {len(differing)} differ; {time.perf_counter() - start:.0f} s")
    print(*differing[:20], sep="\n", end="\n" if differing else "")
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main())
