"""The same replay on a local cluster of two worker processes tells the same."""

from pathlib import Path

import distributed
import pytest
from sides_of_a_change import STRICTER_DOORS, asked, changed_folder, made_jobs

from airwarrant.errors import CallError
from airwarrant.replay.cluster import Cluster
from airwarrant.replay.pool import Here
from airwarrant.replay.replay import replay
from airwarrant.replay.told_json import data_of


def test_a_cluster_tells_what_one_process_tells(tmp_path: Path) -> None:
    few = asked(changed_folder(tmp_path / "policies", STRICTER_DOORS))
    jobs = made_jobs(20, seed=4)
    here = replay(jobs, few, Here(few), trees=False)
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as local:
        cluster = Cluster(few, local.scheduler_address)
        try:
            there = [replay(jobs, few, cluster, trees=False) for _ in range(2)]
        finally:
            cluster.close()
    assert [data_of(one) for one in there] == [data_of(here)] * 2


def test_nobody_at_the_address_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwarrant.replay.cluster._WAIT", "1s")
    few = asked(changed_folder(tmp_path / "policies", STRICTER_DOORS))
    with pytest.raises(CallError) as raised:
        Cluster(few, "tcp://127.0.0.1:9")
    assert [fault.code for fault in raised.value.faults] == ["no-cluster"]
