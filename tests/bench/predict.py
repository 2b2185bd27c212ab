"""A house's air network from its record: how long it takes to make a house ready, to predict, and to draw ranges.

`python tests/bench/predict.py [--times 30]` prints medians; nothing here asserts a time.
"""

import argparse
import platform
import sys
from collections.abc import Callable
from itertools import chain, combinations, cycle
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "house"))

from house_of import BALANCE, ELBOW, RETURN, SEAL, assumptions, data, record, targets
from network import timed

from airwarrant.house.predict import Network, prepare
from airwarrant.house.work import Work

LINKS = 31


def large() -> dict[str, Any]:
    """Job 4471 with bedrooms added until its network has 31 links."""
    plain = data("4471")
    while len(ready(plain)._base.links) < LINKS:
        key = f"bed-{len(plain['room'])}"
        plain["room"].append({"id": key, "use": "bedroom", "target": 60})
        for visit in plain["visit"]:
            visit["room"].append({"id": key, "flow": 60, "door_pressure": 4.0})
    return plain


def ready(plain: dict[str, Any]) -> Network:
    job = record(plain)
    made = prepare(job, assumptions(job.market), targets(job))
    if made is None:
        raise SystemExit("this record cannot be predicted")
    return made


def scopes(lines: tuple[Work, ...]) -> list[tuple[Work, ...]]:
    """Ten scopes of some lines, as the options of a job are."""
    some = chain.from_iterable(combinations(lines, n) for n in range(len(lines) + 1))
    return list(dict.fromkeys(some))[:10]


def main() -> None:
    """Run all and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=30)
    asked = parser.parse_args()
    print(f"Python {platform.python_version()}, numpy {np.__version__}, {platform.machine()}")
    door = Work("transfer", "bed-2", 49.0)
    houses = (
        ("job 1042", data("1042"), (ELBOW, RETURN, SEAL, *BALANCE)),
        (
            f"a house of {LINKS} links",
            large(),
            (SEAL, Work("repair-run", "bed-3-run"), door, Work("seal-return", "house")),
        ),
    )
    for name, plain, lines in houses:
        job = record(plain)
        held, flows = assumptions(job.market), targets(job)
        base = ready(plain)
        setting = base._house.record.new_blower.settings[-1].name  # type: ignore[union-attr]
        print(f"{name}: {len(base._base.links)} links, {len(base._linear.names)} inputs")

        def fresh(
            work: Callable[[Network], object], job: Any = job, held: Any = held, flows: Any = flows
        ) -> Callable[[], object]:
            """A piece of work on a house made ready just before: nothing it has drawn or solved is at hand; made outside the time."""
            made = cycle([prepare(job, held, flows) for _ in range(asked.times)])
            return lambda: work(next(made))  # type: ignore[arg-type]

        def ten(made: Network, setting: str = setting, lines: tuple[Work, ...] = lines) -> None:
            for scope in scopes(lines):
                made.predict(scope, setting)
                made.ranges(scope, setting)

        def warm(made: Network, setting: str = setting, lines: tuple[Work, ...] = lines) -> Callable[[], object]:
            made.ranges((), setting)
            turns = cycle(scopes(lines)[1:])

            def one() -> None:
                made._draws_of.clear()
                made.ranges(next(turns), setting)

            return one

        print(f"  make the house ready: {timed(lambda: prepare(job, held, flows), asked.times)}")  # noqa: B023
        print(f"  one option, point and slopes: {timed(lambda: base.predict(lines, setting), asked.times)}")  # noqa: B023
        print(f"  one option, 500 draws, the house's own draws made: {timed(warm(ready(plain)), asked.times)}")
        print(f"  the first option, 500 draws: {timed(fresh(lambda made: made.ranges(lines, setting)), asked.times)}")  # noqa: B023
        print(f"  ten options with their ranges: {timed(fresh(ten), asked.times)}")


if __name__ == "__main__":
    main()
