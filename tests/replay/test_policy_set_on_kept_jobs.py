"""`policy set` tells what changes on kept jobs where there is an archive; `run --keep` keeps what that is decided by."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

from sides_of_a_change import MARKET, POLICIES

from airwarrant.policy.compose import compose
from airwarrant.records.archive import Archive
from airwarrant.replay.facts import outcome_in
from airwarrant.replay.layout import Layout


def _called(folder: Path, *words: str) -> str:
    typed = [sys.executable, "-c", "from airwarrant.cli.start import main; main()", *words]
    done = subprocess.run(typed, cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_it_looks_at_the_archive_of_the_folder(tmp_path: Path) -> None:
    shutil.copytree(POLICIES, tmp_path / "policies")
    _called(tmp_path, "run", "job-1042", "--keep")
    with Archive.open(tmp_path / "airwarrant.sqlite") as archive:
        run = next(iter(archive.runs()))
        reach = run.reach()
        assert reach is not None
        kept = outcome_in(reach, Layout(compose(POLICIES, run.entry.market, run.record().dates)))
    assert kept is not None
    assert kept.amount == 5515
    change = ("set", "door_pressure_limit", "5", "--row", "0", "--market", MARKET, "--from", "2027-01-01")
    data = json.loads(_called(tmp_path, "policy", *change, "--why", "Quieter doors", "--yes", "--json"))
    assert data["kept"]["jobs"] == 1
    assert data["kept"]["became"]["moved"] == 1
    assert {"transfer-grille", "undercut-door"} <= data["kept"]["lines"].keys()
    elsewhere = ("set", "door_pressure_limit", "4", "--row", "0", "--market", "fog-harbor", "--from", "2027-01-01")
    said = _called(tmp_path, "policy", *elsewhere, "--why", "Trial", "--yes", "--archive", "airwarrant.sqlite")
    assert "airwarrant.sqlite holds no kept job of Fog Harbor" in said
