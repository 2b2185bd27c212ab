"""What is kept comes back byte for byte, in order, chained, and nothing of it can be changed."""

import json
import sqlite3
from hashlib import sha256
from pathlib import Path

import apsw
import pytest
from small_archive import POLICY, findings, kept, made, of_test_out, result, text

from airwarrant.errors import ArchiveError
from airwarrant.records.archive import Archive
from airwarrant.records.kept import RUN, TEST_OUT


def test_everything_comes_back_as_it_was_given(tmp_path: Path) -> None:
    with Archive.open(tmp_path / "a.sqlite", write=True) as archive:
        one = kept(7, file="smith at the corner.toml")
        entry = archive.keep(one)
        assert archive.record_text(entry) == text(7)
        assert archive.record(entry) == one.record
        assert archive.policy_texts(entry) == dict(POLICY.texts)
        assert json.dumps(archive.result(entry)) == json.dumps(one.result)
        assert archive.reach(entry) == one.reach
        out = archive.keep(of_test_out(7, entry.number))
        assert b"Dog in the yard" in archive.test_out_text(out)
        assert archive.acceptance(out) == {"format": "airwarrant/acceptance/1", "answer": "pass"}
        assert [o.by for o in entry.overrides] == ["office"]
        bare = archive.keep(kept(8, bare=True))
        assert archive.result(bare) is None
        assert archive.reach(bare) is None


def test_inputs_carried_inside_a_result_are_not_kept_twice(tmp_path: Path) -> None:
    from dataclasses import replace

    with Archive.open(tmp_path / "a.sqlite", write=True) as archive:
        entry = archive.keep(replace(kept(1), result={**result(1), "inputs": {"record": {"text": "…"}}}))
        assert archive.result(entry) == result(1)


def test_the_chain_is_what_anybody_computes_with_sha_256_and_the_stored_text(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite")
    # Python's own SQLite reads the file: nothing of this package takes part.
    with sqlite3.connect(path) as plain:
        rows = plain.execute("SELECT number, head, digest FROM entry ORDER BY number").fetchall()
    previous = ""
    for position, (number, head, digest) in enumerate(rows, 1):
        held = json.loads(head)
        assert number == held["number"] == position
        assert held["previous"] == previous
        assert json.dumps(held, sort_keys=True, ensure_ascii=False, separators=(",", ":")) == head
        previous = sha256(head.encode()).hexdigest()
        assert digest.hex() == previous
    assert not findings(path)


def test_what_repeats_is_stored_once(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite", 5)
    with sqlite3.connect(path) as plain:
        before = plain.execute("SELECT count(*) FROM part").fetchone()[0]
    with Archive.open(path, write=True) as archive:
        archive.keep(kept(3))
    with sqlite3.connect(path) as plain:
        assert plain.execute("SELECT count(*) FROM part").fetchone()[0] == before


def test_heads_come_in_order_by_kind_and_job_and_runs_are_the_newest_of_each_job(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite")
    with Archive.open(path, write=True) as archive:
        archive.keep(kept(2))
        archive.keep(of_test_out(2, 5))
        assert [one.number for one in archive.entries()] == [1, 2, 3, 4, 5, 6]
        assert [one.number for one in archive.entries(kind=TEST_OUT)] == [4, 6]
        assert [one.number for one in archive.entries(job="2")] == [2, 5, 6]
        assert [one.number for one in archive.entries(kind=RUN, after=2)] == [3, 5]
        assert [one.number for one in archive.entries(last=2)] == [5, 6]
        assert [one.number for one in archive.entries(kind=RUN, last=3)] == [2, 3, 5]
        assert [one.number for one in archive.entries(job="2", after=2, last=9)] == [5, 6]
        assert [one.entry.number for one in archive.runs()] == [1, 3, 5]
        assert next(iter(archive.runs())).record().id == "1"


def test_many_are_kept_in_order_over_several_transactions(tmp_path: Path) -> None:
    with Archive.open(tmp_path / "a.sqlite", write=True) as archive:
        assert archive.keep_all(kept(number, bare=True) for number in range(1, 1001)) == 1000
        assert len(archive) == 1000
        assert [one.job for one in archive.entries()] == [str(number) for number in range(1, 1001)]
        assert sum(1 for _ in archive.digests()) == 1000
    assert not findings(tmp_path / "a.sqlite")


def test_a_fault_in_bulk_keeps_whole_transactions_and_nothing_by_halves(tmp_path: Path) -> None:
    def jobs() -> object:
        yield from (kept(number, bare=True) for number in range(1, 451))
        raise RuntimeError("the source broke off")

    with Archive.open(tmp_path / "a.sqlite", write=True) as archive:
        with pytest.raises(RuntimeError):
            archive.keep_all(jobs())  # type: ignore[arg-type]
        assert len(archive) == 400
    assert not findings(tmp_path / "a.sqlite")


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE entry SET head = '{}' WHERE number = 2",
        "DELETE FROM entry WHERE number = 4",
        "INSERT INTO entry (number, kind, job, head, digest) VALUES (9, 'run', '', '{}', zeroblob(32))",
        "UPDATE part SET body = x'00'",
        "DELETE FROM part",
        "UPDATE personal SET body = x'00'",
        "DELETE FROM personal WHERE entry = 1",
    ],
)
def test_no_statement_changes_what_is_kept(tmp_path: Path, change: str) -> None:
    path = made(tmp_path / "a.sqlite")
    before = path.read_bytes()
    with Archive.open(path, write=True) as archive, pytest.raises(apsw.ConstraintError):
        archive.connection.execute(change)
    assert path.read_bytes() == before


def test_reading_writes_nothing_and_an_archive_opened_for_reading_keeps_nothing(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite")
    before = path.read_bytes()
    with Archive.open(path) as archive:
        with pytest.raises(ValueError, match="opened for reading"):
            archive.keep(kept(9))
        for one in archive.runs():
            one.record()
            one.result()
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["a.sqlite"]


def test_an_entry_that_is_not_there_is_said(tmp_path: Path) -> None:
    with Archive.open(made(tmp_path / "a.sqlite")) as archive, pytest.raises(ArchiveError, match="no entry 99"):
        archive.entry(99)


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE entry SET head = replace(head, 'no wall to cut', 'no wall to cuT') WHERE number = 2",
        "UPDATE entry SET job = '8' WHERE number = 2",
        "DELETE FROM entry WHERE number = 2",
        "UPDATE entry SET digest = zeroblob(32) WHERE number = 2",
        "DELETE FROM personal WHERE entry = 2",
        "UPDATE personal SET body = CAST(replace(CAST(body AS TEXT), 'Nowhere', 'Anywhere') AS BLOB) WHERE entry = 2",
    ],
)
def test_who_takes_the_guards_away_and_changes_an_entry_is_found_out_and_the_entry_named(
    tmp_path: Path, change: str
) -> None:
    path = made(tmp_path / "a.sqlite")
    with Archive.open(path, write=True) as archive:
        guards = archive.connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            archive.connection.execute(f"DROP TRIGGER {name}")
        archive.connection.execute("PRAGMA foreign_keys = OFF")
        archive.connection.execute(change)
        for _, sql in guards:
            archive.connection.execute(str(sql))
    assert 2 in {one.entry for one in findings(path)}, findings(path)


def test_an_archive_whose_guards_are_gone_is_not_opened(tmp_path: Path) -> None:
    path = made(tmp_path / "a.sqlite")
    with Archive.open(path, write=True) as archive:
        archive.connection.execute("DROP TRIGGER entry_update")
    with pytest.raises(ArchiveError, match="tables are not those"):
        Archive.open(path)
