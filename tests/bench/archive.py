"""What keeping costs: jobs kept a second, heads and parts read, digests held, a proof made; and, with ``--kills``, writers killed.

`python tests/bench/archive.py [--entries 100000] [--kills 1000]` prints one table; seconds are of the processor. Kills assert that nothing
that was said to be kept is lost; nothing asserts a time.
"""

import argparse
import platform
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

TESTS = Path(__file__).parents[1]
sys.path += [str(TESTS), str(TESTS / "records")]

from killing import kill_some  # noqa: E402

from airwarrant.job.reading_records import parse_job  # noqa: E402
from airwarrant.policy.files import policy_texts  # noqa: E402
from airwarrant.records.archive import Archive  # noqa: E402
from airwarrant.records.findings import Finding  # noqa: E402
from airwarrant.records.kept import Kept, PolicyFiles  # noqa: E402
from airwarrant.records.pages import damaged_pages  # noqa: E402
from airwarrant.records.proof import prove, root_of  # noqa: E402
from airwarrant.records.verify import chain, parts_of  # noqa: E402
from airwarrant.session import Session  # noqa: E402
from jobs import POLICIES, SCENARIOS  # noqa: E402

WHEN = "2026-11-25T21:00:00Z"


def main() -> None:
    """Print the table."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--entries", type=int, default=10_000)
    words.add_argument("--kills", type=int, default=0)
    given = words.parse_args()
    print(f"Python {platform.python_version()}, {platform.machine()}")
    with tempfile.TemporaryDirectory() as held:
        folder = Path(held)
        _keeping(folder, given.entries)
        if given.kills:
            kept, seconds = _timed(lambda: kill_some(folder / "killed.sqlite", given.kills, seed=2026))
            _row(f"writers killed; {kept} jobs kept by them, none lost", seconds, given.kills)
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


def _keeping(folder: Path, entries: int) -> None:
    text = (SCENARIOS / "job-1042.toml").read_bytes()
    record = parse_job(text, "job-1042.toml")
    with Session(POLICIES) as session:
        result = session.evaluate(record)
    files = PolicyFiles(result["digests"]["policy"], policy_texts((POLICIES,), record.market, record.dates))
    one = Kept(record, text, record.market, files, WHEN)

    def jobs(count: int, *, whole: bool, first: int = 1) -> Iterator[Kept]:
        for number in range(first, first + count):
            name = f"b-{number}"
            body = text.replace(b'id = "1042"', f'id = "{name}"'.encode())
            job = replace(record, id=name, file=f"job-{name}.toml")
            program = {**result["program"], "record": {**result["program"]["record"], "file": job.file}}
            made = {**result, "job_id": name, "program": program} if whole else None
            yield replace(one, record=job, text=body, result=made, reach=bytes(600))

    with Archive.open(folder / "bulk.sqlite", write=True) as archive:
        count, seconds = _timed(lambda: archive.keep_all(jobs(entries, whole=False)))
        _row("kept in bulk, record, policy and reach facts", seconds, count)
        size = archive.path.stat().st_size
        print(f"{'bytes on disk an entry':64s} {size / entries:12.0f}")
        count, seconds = _timed(lambda: sum(1 for _ in archive.entries()))
        _row("heads read", seconds, count)
        count, seconds = _timed(lambda: sum(len(run.reach() or b"") > 0 for run in archive.runs()))
        _row("newest runs with their reach facts", seconds, count)
        some = min(entries, 2000)
        _, seconds = _timed(
            lambda: [archive.record_text(entry) for entry, _ in zip(archive.entries(), range(some), strict=False)]
        )
        _row("records' texts put together again", seconds, some)
        _, seconds = _timed(lambda: root_of(archive))
        _row("root over all entries", seconds, entries)
        _, seconds = _timed(lambda: prove(archive, entries // 2))
        _row("a proof of inclusion", seconds, 1)
        found, seconds = _timed(lambda: list(damaged_pages(archive)))
        _row("pages held to their checksums", seconds, size // 4096)
        sound: set[str] = set()
        bad, seconds = _timed(lambda: [one for one in _checked(archive, sound)])
        _row("entries and parts held to their digests", seconds, entries)
        assert not found
        assert not bad
        _, seconds = _timed(lambda: [archive.keep(kept) for kept in jobs(20, whole=True, first=entries + 1)])
        _row("kept one at a time with the whole result, on disk each", seconds, 20)


def _checked(archive: Archive, sound: set[str]) -> Iterator[Finding]:
    for one in chain(archive):
        if isinstance(one, Finding):
            yield one
        else:
            yield from parts_of(archive, one, sound)


def _timed(work: Callable[[], Any]) -> tuple[Any, float]:
    start = time.process_time()
    found = work()
    return found, time.process_time() - start


def _row(name: str, seconds: float, count: int) -> None:
    print(f"{name:64s} {count:9d} {seconds:9.2f} s {count / seconds if seconds else 0:12.0f} a second", flush=True)


if __name__ == "__main__":
    main()
