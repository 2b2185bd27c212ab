"""Replay of made jobs under two policies: jobs a second, processor seconds, peak memory, one process and two. ``python replay.py [JOBS]``.

With 5,000 jobs it takes some minutes. Processor seconds say what an idle machine would take; wall time is that of this machine, as busy
as it is.
"""

import os
import resource
import shutil
import sys
import threading
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from airwarrant.made_jobs.made import made
from airwarrant.replay.compare_jobs import Asked
from airwarrant.replay.pool import Pool
from airwarrant.replay.replay import replay
from airwarrant.replay.sides import side
from airwarrant.replay.stored import Held, Job
from airwarrant.shipped import shipped

MARKET, SEED = "copper-basin", 5
#: Return static that calls for work on the return side: 0.28 in. w.c. instead of 0.30.
CHANGE = ("value = 0.30", "value = 0.28")


def changed(folder: Path) -> Path:
    """The shipped policies with one threshold of the market's region otherwise."""
    shutil.copytree(shipped("policies"), folder)
    limits = folder / "regions/hot-dry/2026-01-01/limits.toml"
    text = limits.read_text()
    assert CHANGE[0] in text
    limits.write_text(text.replace(*CHANGE, 1))
    return folder


def resident(pid: int) -> int:
    """Resident memory of a process and those it started, in kB."""
    total = 0
    for one in (pid, *_children(pid)):
        try:
            status = Path(f"/proc/{one}/status").read_text()
        except OSError:
            continue
        total += next((int(line.split()[1]) for line in status.splitlines() if line.startswith("VmRSS")), 0)
    return total


def _children(pid: int) -> list[int]:
    try:
        found = [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    except OSError:
        return []
    return [*found, *(more for one in found for more in _children(one))]


class Watched:
    """Peak memory of this process and its children while the block runs, and processor seconds of all."""

    def __enter__(self) -> "Watched":
        self.peak, self._open = 0, True
        self._before, self._wall = self._cpu(), time.perf_counter()
        self._thread = threading.Thread(target=self._watch, daemon=True)
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._open = False
        self._thread.join()
        self.cpu = self._cpu() - self._before
        self.wall = time.perf_counter() - self._wall

    def _watch(self) -> None:
        while self._open:
            self.peak = max(self.peak, resident(os.getpid()))
            time.sleep(0.2)

    @staticmethod
    def _cpu() -> float:
        use = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
        return sum(one.ru_utime + one.ru_stime for one in use)


def main(count: int) -> None:
    """Print the table."""
    several = (made(SEED, k, MARKET) for k in range(1, count + 1))
    jobs = Held([Job(one.file, one.file, one.text.encode()) for one in several])
    with TemporaryDirectory() as folder:
        a, b = side((shipped("policies"),), MARKET), side((changed(Path(folder) / "p"),), MARKET)
        print(f"{count} made jobs, one threshold changed")
        print(
            "| evaluated | processes | moved | proved | processor s | ms a job | wall s | peak MB |\n|---|---|---|---|---|---|---|---|"
        )
        for everything in (True, False):
            for processes in (1, 2):
                asked = Asked(a, b, everything)
                with Watched() as watched:
                    told = replay(jobs, asked, Pool(asked, processes), trees=False)
                sorts = told.summary.sorts
                what = "both policies" if everything else "through reach"
                print(
                    f"| {what} | {processes} | {sorts['moved']} | {sorts['apart']} | {watched.cpu:.1f} "
                    f"| {watched.cpu / count * 1000:.1f} | {watched.wall:.1f} | {watched.peak / 1024:.0f} |",
                    flush=True,
                )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
