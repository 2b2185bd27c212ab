"""Every line that a shipped scenario leaves out or holds: the smallest change that brings it in, and how long the search takes."""

import sys
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[1]))

from airwarrant.desks.flips import physical, stands
from airwarrant.desks.policy_flips import policy_edits
from flipping import files, left, opened
from jobs import JOBS


def main() -> None:
    lines = flipped = policies = wrong = 0
    for name in JOBS:
        with opened(name) as made:
            for line in left(name, made):
                start = perf_counter()
                flips = physical(made, line.task, line.place)
                middle = perf_counter()
                allowed, refused = policy_edits(made, line.task, line.place, files(name))
                took = f"{middle - start:5.2f} s record, {perf_counter() - middle:5.2f} s policy"
                lines, flipped, policies = lines + 1, flipped + bool(flips), policies + bool(allowed)
                wrong += sum(not stands(made.changed(flip.edits), line.id) for flip in flips)
                first = (
                    [f"{e.key}.{e.field} {e.before} -> {e.after} {e.unit}" for e in flips[0].edits] if flips else "none"
                )
                value = f"{allowed[0].name} {allowed[0].before:g} -> {allowed[0].after:g}" if allowed else "none"
                print(f"{name} {line.id} {line.how}: {took}; {first}; {value}; {len(refused)} refused")
    print(f"{lines} lines: {flipped} by the record, {policies} by one policy value; {wrong} that do not flip")


if __name__ == "__main__":
    main()
