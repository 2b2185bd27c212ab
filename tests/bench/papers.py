"""How long the papers of one job take: each HTML page and PDF by itself, and the whole command as a process.

`python tests/bench/papers.py [--job 1042]` prints one table. Nothing here asserts a time.
"""

import argparse
import gc
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from airwarrant.job.reading_records import read_job
from airwarrant.papers.pdf import pdf
from airwarrant.papers.write import make, papers
from airwarrant.session import Session
from airwarrant.shipped import shipped


def took(work: Callable[[], Any]) -> tuple[float, Any]:
    """CPU seconds of a call, and what it gave."""
    start = time.process_time()
    given = work()
    return time.process_time() - start, given


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--job", default="1042")
    job = parser.parse_args().job
    gc.disable()  # as the command line does
    with Session(shipped("policies")) as session:
        result = session.evaluate(read_job(shipped("scenarios") / f"job-{job}.toml"))
    make(result, only=["proposal"])
    print(f"{'paper':12} {'HTML, CPU s':>12} {'kB':>6} {'PDF, CPU s':>12} {'kB':>6}")
    for paper in papers():
        seconds, made = took(lambda name=paper.name: make(result, only=[name]))
        page = next(iter(made.values()))
        printing, printed = took(lambda page=page: pdf(page.decode()))
        sizes = (len(page) / 1e3, len(printed) / 1e3)
        print(f"{paper.name:12} {seconds:12.2f} {sizes[0]:6.0f} {printing:12.2f} {sizes[1]:6.0f}")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "result.json"
        file.write_text(json.dumps(result))
        for kind in ("--no-pdf", "--pdf"):
            command = [sys.executable, "-m", "airwarrant", "papers", str(file), "--out", folder, kind]
            start = time.perf_counter()
            subprocess.run(command, check=True, capture_output=True)
            print(f"whole process {kind:9} {time.perf_counter() - start:6.2f} s")


if __name__ == "__main__":
    main()
