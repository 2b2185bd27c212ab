"""What `audit prove` writes is checked by the script alone, with Python and a root that was published; see also ``tests/published/``."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from small_archive import kept, made

from airwarrant.errors import ArchiveError
from airwarrant.records.archive import Archive
from airwarrant.records.erase import erase
from airwarrant.records.proof import prove, prove_growth, root_of, script


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made(tmp_path_factory.mktemp("proofs") / "a.sqlite", 6)


def _check(folder: Path, proof: dict[str, Any], *words: str) -> subprocess.CompletedProcess[str]:
    """Run the script as somebody else would: no site packages, nothing of this project on the path."""
    (folder / "check_proof.py").write_text(script())
    (folder / "proof.json").write_text(json.dumps(proof))
    command = [sys.executable, "-I", "-S", "check_proof.py", "proof.json", *words]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_an_entry_is_proved_against_the_published_root_with_its_record(path: Path, tmp_path: Path) -> None:
    with Archive.open(path) as archive:
        root = root_of(archive)
        proof = prove(archive, 3)
        record = archive.part(archive.entry(3), "record")
        assert record is not None
    (tmp_path / "record.toml").write_bytes(record)
    done = _check(tmp_path, proof, "--root", root.root, "--size", "7", "--part", "record=record.toml")
    assert (done.returncode, done.stderr) == (0, "")
    assert "holds: entry 3 of 7, run of job 3" in done.stdout
    assert "Nowhere Lane" not in json.dumps(proof), "a proof shows nothing personal"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({}, ["--root", "0" * 64]),
        ({}, ["--size", "8"]),
        ({"number": 2}, []),
        ({"entry": "changed"}, []),
        ({"path": []}, []),
        ({"format": "other"}, []),
        ({}, ["--part", "record=check_proof.py"]),
    ],
)
def test_what_was_changed_does_not_hold(path: Path, tmp_path: Path, change: dict[str, Any], words: list[str]) -> None:
    with Archive.open(path) as archive:
        root = root_of(archive).root
        proof = prove(archive, 3)
    if change.get("entry"):
        change = {"entry": proof["entry"].replace("no wall to cut", "a wall to cut")}
    done = _check(tmp_path, {**proof, **change}, "--root", root, *words)
    assert done.returncode == 1, done
    assert "does not hold" in done.stdout


def test_a_file_that_is_no_proof_is_said_without_a_traceback(tmp_path: Path) -> None:
    for proof in ({"format": "airwarrant/proof/1"}, {"format": "airwarrant/proof/1", "path": ["x"]}, {}):
        done = _check(tmp_path, proof, "--root", "0" * 64)
        assert done.returncode in (1, 2)
        assert "Traceback" not in done.stderr


def test_an_older_root_still_proves_entries_and_that_the_archive_only_grew(path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "a.sqlite"
    copy.write_bytes(path.read_bytes())
    with Archive.open(copy, write=True) as archive:
        older = root_of(archive)
        archive.keep(kept(50))
        erase(archive, [archive.entry(2)], why="asked", kept_at="2026-12-01T08:00:00Z")
        newer = root_of(archive)
        assert (older.size, newer.size) == (7, 9)
        assert root_of(archive, 7) == older
        assert _check(tmp_path, prove(archive, 2, 7), "--root", older.root, "--size", "7").returncode == 0
        grown = prove_growth(archive, 7)
        words = ["--root", newer.root, "--first-root", older.root, "--size", "9", "--first-size", "7"]
        done = _check(tmp_path, grown, *words)
        assert (done.returncode, done.stdout.strip()) == (
            0,
            "holds: the archive up to entry 7 is the beginning of that up to entry 9",
        )
        words[3] = newer.root
        assert _check(tmp_path, grown, *words).returncode == 1
        assert _check(tmp_path, grown, "--root", newer.root).returncode == 1


def test_what_is_not_there_cannot_be_proved(path: Path) -> None:
    with Archive.open(path) as archive:
        for call in (lambda: prove(archive, 99), lambda: prove(archive, 7, 3), lambda: prove_growth(archive, 99)):
            with pytest.raises(ArchiveError, match="no-entry"):
                call()
        with pytest.raises(ArchiveError, match="no-entry"):
            root_of(archive, 99)
