"""The same replay on a local dask cluster of one worker process and of two: seconds, jobs a second. ``python cluster.py [JOBS]``.

That both policies are composed on each worker is in the time. What comes back is held to one process. Ten million jobs are computed from
the rate and not measured.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import distributed

from airwarrant.made_jobs.made import made
from airwarrant.replay.cluster import Cluster
from airwarrant.replay.compare_jobs import Asked
from airwarrant.replay.pool import Here
from airwarrant.replay.replay import replay
from airwarrant.replay.sides import side
from airwarrant.replay.stored import Held, Job
from airwarrant.replay.told_json import data_of
from airwarrant.shipped import shipped
from replay import MARKET, SEED, Watched, changed


def main(count: int) -> None:
    """Print the table."""
    several = [
        Job(one.file, one.file, one.text.encode()) for one in (made(SEED, k, MARKET) for k in range(1, count + 1))
    ]
    with TemporaryDirectory() as folder:
        a, b = side((shipped("policies"),), MARKET), side((changed(Path(folder) / "p"),), MARKET)
        asked = Asked(a, b, True)
        here = data_of(replay(Held(several), asked, Here(asked), trees=False))
        print(f"{count} made jobs, both policies in full")
        print("| workers | wall s | jobs a second | ten million, hours | as one process |\n|---|---|---|---|---|")
        for workers in (1, 2):
            with distributed.LocalCluster(
                n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None
            ) as local:
                cluster = Cluster(asked, local.scheduler_address)
                with Watched() as watched:
                    there = replay(Held(several), asked, cluster, trees=False)
                cluster.close()
            rate = count / watched.wall
            same = "same" if data_of(there) == here else "DIFFERS"
            print(f"| {workers} | {watched.wall:.1f} | {rate:.0f} | {1e7 / rate / 3600:.0f} | {same} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
