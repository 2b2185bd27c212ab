"""`--keep` and the command `airwarrant audit` as a person or a script meets them."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from airwarrant.shipped import shipped
from program import completed

SCENARIOS = shipped("scenarios")
DONE, NO, INPUT = 0, 1, 2


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the main job and its test-out kept."""
    made = tmp_path_factory.mktemp("audit")
    (made / "smith.toml").write_bytes((SCENARIOS / "job-1042.toml").read_bytes())
    done = completed("run", "smith.toml", "--keep", "--with-inputs", "--json", folder=made)
    assert done.returncode == DONE
    assert "kept run of job 1042 as entry 1 in airwarrant.sqlite" in done.stderr
    (made / "result.json").write_text(done.stdout, encoding="utf-8")
    done = completed("accept", "result.json", SCENARIOS / "test-out-1042.toml", "--keep", folder=made)
    assert done.returncode == DONE
    assert "kept test-out of job 1042 as entry 2" in done.stderr
    return made


def test_keeping_changes_nothing_of_the_result(folder: Path) -> None:
    plain = completed("run", "smith.toml", "--json", "--with-inputs", folder=folder)
    assert plain.stdout == (folder / "result.json").read_text(encoding="utf-8")


def test_a_test_out_brings_its_run_along_where_that_was_not_kept(folder: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    words = ("accept", "result.json", SCENARIOS / "test-out-1042-tight.toml", "--archive", other)
    done = completed(*words, folder=folder)
    assert done.returncode == NO, "it failed, and was kept all the same"
    assert "kept run of job 1042 as entry 1" in done.stderr
    assert "kept test-out of job 1042 as entry 2" in done.stderr


def test_listed_shown_and_written_out(folder: Path, tmp_path: Path) -> None:
    listed = completed("audit", "list", folder=folder)
    assert listed.returncode == DONE
    assert "2 entries, root " in listed.stdout
    data = json.loads(completed("audit", "list", "--json", folder=folder).stdout)
    assert [(one["number"], one["kind"], one["job"]) for one in data["entries"]] == [
        (1, "run", "1042"),
        (2, "test-out", "1042"),
    ]
    shown = completed("audit", "show", "1042", "--out", tmp_path, folder=folder)
    assert shown.returncode == DONE
    assert "Entry 1 — run of job 1042" in shown.stdout
    assert "Personal data is there" in shown.stdout
    assert (tmp_path / "entry-1-record.toml").read_bytes() == (folder / "smith.toml").read_bytes()
    kept = json.loads((tmp_path / "entry-1-result.json").read_text(encoding="utf-8"))
    result = json.loads((folder / "result.json").read_text(encoding="utf-8"))
    result.pop("inputs")
    assert json.dumps(kept) == json.dumps(result)
    why = completed("why-not", "entry-1-result.json", "bedroom-return@bed-2", folder=tmp_path)
    assert why.returncode == DONE, "what was written out can be asked as any result"


def test_checked_and_a_damaged_page_is_the_answer_no(folder: Path, tmp_path: Path) -> None:
    done = completed("audit", "verify", folder=folder)
    assert done.returncode == DONE, done.stdout
    assert "every job came out as it was kept" in done.stdout
    root = json.loads(completed("audit", "list", "--json", folder=folder).stdout)["root"]
    held = completed("audit", "verify", "--no-evaluate", "--root", root, "--size", "2", "--json", folder=folder)
    assert json.loads(held.stdout)["sound"] is True
    other = completed("audit", "verify", "--no-evaluate", "--root", "0" * 64, "--size", "2", folder=folder)
    assert other.returncode == NO
    assert "root-differs" in other.stdout
    alone = completed("audit", "verify", "--size", "2", folder=folder)
    assert (alone.returncode, "--size was given without --root" in alone.stderr) == (INPUT, True)
    content = bytearray((folder / "airwarrant.sqlite").read_bytes())
    content[4096 * 5 + 100] ^= 1
    (tmp_path / "bad.sqlite").write_bytes(content)
    bad = completed("audit", "verify", "--no-evaluate", "--archive", tmp_path / "bad.sqlite", "--json", folder=folder)
    assert bad.returncode == NO
    assert 6 in {one["page"] for one in json.loads(bad.stdout)["findings"]}
    told = completed("audit", "verify", "--no-evaluate", "--archive", tmp_path / "bad.sqlite", folder=folder)
    assert told.stdout.splitlines()[-1].startswith(
        "Leave this file as it is. What it lacks stands in a copy or an export"
    )
    content = bytearray((folder / "airwarrant.sqlite").read_bytes())
    content[50] ^= 1
    (tmp_path / "bad.sqlite").write_bytes(content)
    bad = completed("audit", "verify", "--archive", tmp_path / "bad.sqlite", folder=folder)
    assert bad.returncode == NO
    assert "page 1: " in bad.stdout


def test_proved_to_somebody_who_has_the_root_and_python_alone(folder: Path, tmp_path: Path) -> None:
    root = json.loads(completed("audit", "list", "--json", folder=folder).stdout)["root"]
    assert completed("audit", "prove", "1042", "--out", tmp_path / "proof.json", folder=folder).returncode == DONE
    assert completed("audit", "prove", "--script", "--out", tmp_path / "check.py", folder=folder).returncode == DONE
    command = [sys.executable, "-I", "-S", "check.py", "proof.json", "--root", root]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done
    assert "holds: entry 1 of 2" in done.stdout


def test_copied_erased_and_what_cannot_be_done_is_said(folder: Path, tmp_path: Path) -> None:
    archive = tmp_path / "a.sqlite"
    archive.write_bytes((folder / "airwarrant.sqlite").read_bytes())
    assert completed("audit", "export", "--out", "jobs.jsonl", "--archive", archive, folder=tmp_path).returncode == DONE
    taken = completed("audit", "import", "jobs.jsonl", "--archive", "copy.sqlite", folder=tmp_path)
    assert taken.returncode == DONE
    assert "Took in 2 entries" in taken.stdout
    asked = completed("audit", "erase", "1042", "--why", "asked by letter", "--archive", archive, folder=tmp_path)
    assert asked.returncode == INPUT
    assert "[not-confirmed]" in asked.stderr
    done = completed(
        "audit", "erase", "1042", "--why", "asked by letter", "--archive", archive, "--yes", folder=tmp_path
    )
    assert done.returncode == DONE
    assert "Erased the personal data of entries 1, 2; entry 3 says so." in done.stdout
    shown = completed("audit", "show", "1", "--archive", archive, folder=tmp_path)
    assert "Personal data was erased on " in shown.stdout
    assert "asked by letter" in shown.stdout
    assert b"west bedroom is hot" not in archive.read_bytes()
    sound = completed("audit", "verify", "--archive", archive, folder=tmp_path)
    assert sound.returncode == DONE, sound.stdout
    again = completed("audit", "erase", "1042", "--why", "again", "--archive", archive, "--yes", folder=tmp_path)
    assert again.returncode == INPUT
    assert "[nothing-to-erase]" in again.stderr
    (tmp_path / "jobs.jsonl").write_text((tmp_path / "jobs.jsonl").read_text()[:-300])
    cut = completed("audit", "import", "jobs.jsonl", "--archive", "other.sqlite", folder=tmp_path)
    assert cut.returncode == INPUT
    assert "[damaged-export]" in cut.stderr
    assert "0 entries" in completed("audit", "list", "--archive", "other.sqlite", folder=tmp_path).stdout
    for words in (("list",), ("show", "1"), ("verify",), ("export", "--out", "x"), ("prove", "1")):
        none = completed("audit", *words, "--archive", "nowhere.sqlite", folder=tmp_path)
        assert none.returncode == INPUT
        assert "[no-archive]" in none.stderr
    unknown = completed("audit", "show", "4711", "--archive", archive, folder=tmp_path)
    assert unknown.returncode == INPUT
    assert "[no-entry]" in unknown.stderr
    erase = completed("audit", "erase", "1", "--why", "x", "--yes", "--archive", "nowhere.sqlite", folder=tmp_path)
    assert erase.returncode == INPUT
    assert not (tmp_path / "nowhere.sqlite").exists()


def test_the_archive_s_library_is_loaded_only_where_an_archive_is_opened() -> None:
    code = (
        "import sys, airwarrant.cli.run, airwarrant.cli.accept, airwarrant.cli.audit;"
        " sys.exit(bool({'apsw', 'airwarrant.records.archive'} & sys.modules.keys()))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
