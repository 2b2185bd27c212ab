"""Write which shipped job depends on what, under every shipped market: ``python tests/scenarios/write_depends.py``.

`airwarrant policy show` tells it without evaluating anything; tests/scenarios/test_depends.py holds it to the program.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from airwarrant.desks.depends import FILE, depends_text, names_read, shipped_jobs
from airwarrant.job.reading_records import read_job
from airwarrant.policy.files import market_names
from airwarrant.session import Session
from jobs import POLICIES, SCENARIOS


def main() -> None:
    with Session(POLICIES) as session:
        read = {
            (job, market): names_read(session.evaluate(read_job(path), market=market))
            for market in market_names(POLICIES)
            for job, path in shipped_jobs()
        }
    (SCENARIOS / FILE).write_text(depends_text(read), encoding="utf-8")


if __name__ == "__main__":
    main()
