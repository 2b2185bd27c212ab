"""Spoil records and policy files by the thousand; each must end in a listed error or a result, never anything else.

`python tests/bench/mutations.py --records 5000 --policies 5000 [--seed 1]` prints what they ended in; exit 1 on a surprise.
"""

import argparse
import random
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from airwarrant.errors import InputError
from airwarrant.job.reading_records import parse_job
from airwarrant.session import Session
from airwarrant.shipped import shipped

sys.path.insert(0, str(Path(__file__).parents[1]))
from mutating import mutate

SURPRISES: list[str] = []


def records(count: int, seed: int) -> Iterator[str]:
    """Read and evaluate spoiled records; yield the code or ``result`` of each."""
    rng = random.Random(seed)
    sources = [
        p for p in sorted(shipped("scenarios").glob("job-*.toml")) if "." not in p.stem and p.stem != "job-wrong"
    ]
    with Session(shipped("policies")) as session:
        for _ in range(count):
            source = rng.choice(sources)
            text = mutate(source.read_text(), rng).encode(errors="surrogatepass")
            try:
                session.evaluate(parse_job(text, source.name))
                yield "result"
            except InputError as error:
                yield from {fault.code for fault in error.faults} or {"no fault listed"}
            except Exception as error:  # noqa: BLE001  what this looks for; the rest of the run goes on
                SURPRISES.append(f"{source.name}: {type(error).__name__} {error}")


def policies(count: int, seed: int) -> Iterator[str]:
    """Compose a policy with one spoiled file and evaluate a job under it."""
    rng = random.Random(seed)
    folder = shipped("policies")
    # Cases are no layer: they are refused by the command that runs them.
    files = sorted(p for p in folder.rglob("*.toml") if "cases" not in p.relative_to(folder).parts)
    record = parse_job((shipped("scenarios") / "job-1042.toml").read_bytes(), "job-1042.toml")
    with tempfile.TemporaryDirectory() as where:
        copy = Path(where) / "policies"
        shutil.copytree(folder, copy)
        for _ in range(count):
            source = rng.choice(files)
            target = copy / source.relative_to(folder)
            target.write_bytes(mutate(source.read_text(), rng).encode(errors="surrogatepass"))
            try:
                with Session(copy) as session:
                    session.evaluate(record)
                yield "result"
            except InputError as error:
                yield from {fault.code for fault in error.faults} or {"no fault listed"}
            except Exception as error:  # noqa: BLE001  what this looks for; the rest of the run goes on
                SURPRISES.append(f"{source.name}: {type(error).__name__} {error}")
            finally:
                shutil.copyfile(source, target)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--records", type=int, default=5000)
    parser.add_argument("--policies", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    for name, codes in (
        ("records", Counter(records(given.records, given.seed))), ("policies", Counter(policies(given.policies, given.seed)))
    ):  # fmt: skip
        print(f"{name}, seed {given.seed}:")
        for code, times in codes.most_common():
            print(f"  {times:6d}  {code}")
    for surprise in SURPRISES:
        print("SURPRISE", surprise)
    return 1 if SURPRISES else 0


if __name__ == "__main__":
    sys.exit(main())
