"""An archive copied as text has the same entries and root; what is not what it says is refused, and then nothing is taken in."""

import base64
import io
import json
import random
import zlib
from hashlib import sha256
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from small_archive import findings, kept, made

from airwarrant.errors import ArchiveError
from airwarrant.records import take_in as taking
from airwarrant.records.archive import Archive
from airwarrant.records.erase import erase
from airwarrant.records.export import export_lines
from airwarrant.records.policy_again import policy_folder
from airwarrant.records.proof import root_of
from airwarrant.records.take_in import take_in
from airwarrant.shipped import shipped


def exported(path: Path) -> bytes:
    with Archive.open(path) as archive:
        return b"".join(export_lines(archive))


def taken(path: Path, content: bytes) -> int:
    with Archive.open(path, write=True) as archive:
        return take_in(archive, io.BytesIO(content), "jobs.jsonl")


@pytest.fixture
def source(tmp_path: Path) -> Path:
    """An archive in which one of three jobs was erased."""
    path = made(tmp_path / "source.sqlite")
    with Archive.open(path, write=True) as archive:
        erase(archive, [archive.entry(2)], why="asked", kept_at="2026-12-01T08:00:00Z")
    return path


def test_a_copy_has_the_same_entries_parts_root_and_personal_data(source: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    content = exported(source)
    assert taken(copy, content) == 5
    assert not findings(copy)
    assert exported(copy) == content
    with Archive.open(source) as one, Archive.open(copy) as other:
        assert [e.head for e in one.entries()] == [e.head for e in other.entries()]
        assert root_of(one) == root_of(other)
        for entry in one.entries():
            assert one.personal(entry) == other.personal(entry)
            assert one.erased_by(entry) == other.erased_by(entry)
            for name in entry.parts.keys() - {"personal"}:
                assert one.part(entry, name) == other.part(entry, name)


def test_every_line_is_as_the_schema_says(source: Path) -> None:
    schema = json.loads((shipped("schemas") / "archive-export.schema.json").read_text())
    validator = jsonschema.Draft202012Validator(schema)
    validator.check_schema(schema)
    for line in exported(source).splitlines():
        validator.validate(json.loads(line))
    assert not validator.is_valid({"part": "00", "form": 0, "body": ""})
    assert not validator.is_valid({"entry": "{}", "more": 1})


def test_a_later_export_adds_what_is_new_and_erases_what_was_erased_since(tmp_path: Path) -> None:
    source, copy = made(tmp_path / "source.sqlite"), tmp_path / "copy.sqlite"
    first = exported(source)
    assert taken(copy, first) == 4
    assert taken(copy, first) == 0
    with Archive.open(source, write=True) as archive:
        archive.keep(kept(8))
        erase(archive, [archive.entry(1), archive.entry(4)], why="asked", kept_at="2026-12-01T08:00:00Z")
    assert taken(copy, exported(source)) == 2
    assert exported(copy) == exported(source)
    assert b"Nobody Atall 1\\" not in copy.read_bytes()
    assert not findings(copy)
    # An export from before the erasure brings nothing back.
    assert taken(copy, first) == 0
    assert exported(copy) == exported(source)


def test_an_export_of_another_archive_is_refused(source: Path, tmp_path: Path) -> None:
    other = made(tmp_path / "other.sqlite", 2)
    before = other.read_bytes()
    with pytest.raises(ArchiveError, match="other-archive"):
        taken(other, exported(source))
    assert other.read_bytes() == before


def test_entries_of_another_archive_come_behind_with_what_they_were_there(source: Path, tmp_path: Path) -> None:
    target = made(tmp_path / "target.sqlite", 2)
    content = exported(source)
    with Archive.open(source) as archive:
        there = list(archive.entries())
        text = archive.record_text(there[0])
        root = root_of(archive)
    for _ in range(2):  # the second time everything is there
        with Archive.open(target, write=True) as archive:
            before = len(archive)
            took = take_in(archive, io.BytesIO(content), "jobs.jsonl", behind="2026-12-02T08:00:00Z")
        assert (before, took) in ((3, 5), (9, 0))
    assert not findings(target)
    with Archive.open(target) as archive:
        entries = list(archive.entries())
        assert [one.kind for one in entries[3:]] == ["import", "run", "run", "run", "test-out", "erasure"]
        assert entries[3].said == {"root": root.root, "size": 5}
        for number, (came, one) in enumerate(zip(there, entries[4:], strict=True), 1):
            assert one.said["imported"] == {"number": number, "digest": came.digest}
            assert archive.part(one, "original") == came.head.encode()
            assert (one.job, one.job_digest, one.kept_at) == (came.job, came.job_digest, came.kept_at)
        assert archive.record_text(entries[4]) == text
        assert entries[7].said["of"] == entries[4].number
        assert entries[8].said["of"] == [entries[5].number]
        assert archive.erased_by(entries[5]) == entries[8].number
        assert archive.personal(entries[5]) == {}
    # What is erased there later is erased here too, of entries that are here already.
    with Archive.open(source, write=True) as archive:
        erase(archive, [archive.entry(1)], why="asked", kept_at="2026-12-03T08:00:00Z")
    with Archive.open(target, write=True) as archive:
        assert take_in(archive, io.BytesIO(exported(source)), "jobs.jsonl", behind="2026-12-04T08:00:00Z") == 1
        assert archive.personal(archive.entry(5)) == {}
        assert archive.personal(archive.entry(1)) != {}
    assert not findings(target)
    # What came from us and comes back is ours already.
    with Archive.open(source, write=True) as archive:
        had = len(archive)
        back = take_in(archive, io.BytesIO(exported(target)), "jobs.jsonl", behind="2026-12-05T08:00:00Z")
        kinds = [one.kind for one in archive.entries()][had:]
        assert (back + 1, kinds.count("run")) == (len(kinds), 2), "the note, and the two runs that only the other had"
    copy = tmp_path / "copy.sqlite"
    assert taken(copy, exported(target)) == 11
    assert not findings(copy)


def test_an_erasure_that_does_not_say_what_it_erased_is_refused(source: Path, tmp_path: Path) -> None:
    lines = _lines(source)
    assert "erased" in lines[-1]
    personal = {"personal": 2, "salt": "0" * 64, "body": "{}"}
    for end in ([], [personal], [lines[-1] | {"erased": [1]}], [lines[-1] | {"erased": []}]):
        with pytest.raises(ArchiveError, match="damaged-export"):
            taken(tmp_path / "copy.sqlite", _text([*lines[:-1], *end]))


def test_an_entry_that_would_command_a_terminal_is_refused(tmp_path: Path) -> None:
    from airwarrant.records.head import head_text

    head = head_text(number=1, kind="run", kept_at="\x1b[2J", previous="", versions={}, job="1")
    first = {"format": "airwarrant/archive-export/1", "entries": 1, "root": "0" * 64}
    with pytest.raises(ArchiveError, match="control characters"):
        taken(tmp_path / "copy.sqlite", _text([first, {"entry": head}]))


@pytest.mark.parametrize(
    "body",
    [
        {"record": "all"},
        {"record": [[0, 1]]},
        {"record": [[-1, 1, "x"]]},
        {"result": [[[], "x"]]},
        {"result": [["record", "x"]]},
        {"file": 1},
        {"policy": []},
        {"result": [[["nowhere", 3], "x"]]},
        {"result": [[["record", "told", "deeper"], "x"]]},
    ],
)
def test_personal_data_that_is_none_is_said_without_a_traceback(tmp_path: Path, body: Any) -> None:
    """Whoever writes an export can make its digests right; what is in it is still not believed."""
    from airwarrant.records.head import head_text

    path = made(tmp_path / "a.sqlite", 1)
    content = (b"0" * 32, json.dumps(body).encode())
    with Archive.open(path, write=True) as archive:
        one = archive.entry(1)
        parts = {**one.parts, "personal": sha256(b"".join(content)).hexdigest()}
        entry = archive.add(
            lambda number, previous: head_text(
                number=number, kind="run", kept_at="", previous=previous, versions={}, job="1", parts=parts
            )
        )
        row = (entry.number, *content)
        archive.connection.execute("INSERT INTO personal (entry, salt, body) VALUES (?, ?, ?)", row)
        with pytest.raises(ArchiveError):
            print(archive.record_text(entry), archive.result(entry))


def test_a_changed_byte_anywhere_is_refused_or_changes_nothing(source: Path, tmp_path: Path) -> None:
    content = exported(source)
    random.seed(3)
    for number in range(150):
        at = random.randrange(len(content))
        changed = content[:at] + bytes([content[at] ^ (1 << random.randrange(7))]) + content[at + 1 :]
        copy = tmp_path / f"copy-{number}.sqlite"
        try:
            taken(copy, changed)
        except ArchiveError as error:
            assert error.faults[0].code == "damaged-export"
            with Archive.open(copy) as archive:
                assert len(archive) == 0
        else:  # space between two keys may be any
            assert exported(copy) == content


def _lines(source: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in exported(source).splitlines()]


def _text(lines: list[Any]) -> bytes:
    return "".join(json.dumps(line, ensure_ascii=False, separators=(",", ":")) + "\n" for line in lines).encode()


def _part(content: bytes, form: int = 0) -> dict[str, Any]:
    body = base64.b64encode(zlib.compress(content)).decode()
    return {"part": sha256(content).hexdigest(), "form": form, "body": body}


def test_lines_left_out_put_twice_or_moved_are_refused(source: Path, tmp_path: Path) -> None:
    lines = _lines(source)
    number = 0
    for index in range(1, len(lines)):
        for changed in (
            lines[:index] + lines[index + 1 :],
            [*lines[:index], lines[index], *lines[index:]],
            [*lines[: index - 1], lines[index], lines[index - 1], *lines[index + 1 :]],
        ):
            number += 1
            copy = tmp_path / f"copy-{number}.sqlite"
            try:
                taken(copy, _text(changed))
            except ArchiveError as error:
                assert error.faults[0].code in ("damaged-export", "damaged-archive"), error
            else:  # parts may stand in another order, or twice
                assert exported(copy) == exported(source)
            assert not findings(copy)


@pytest.mark.parametrize(
    "line",
    [
        [],
        {},
        {"entry": 1},
        {"entry": "[" * 100_000},
        {"entry": json.dumps({"format": "airwarrant/entry/1"})},
        {"part": "../../etc/passwd", "form": 0, "body": ""},
        {"part": "0" * 64, "form": 0, "body": "not base 64!"},
        {"part": "0" * 64, "form": 0, "body": base64.b64encode(b"not packed").decode()},
        {"part": "0" * 64, "form": 7, "body": ""},
        {"part": "0" * 64, "form": True, "body": ""},
        _part(b"something else") | {"part": "0" * 64},
        {"personal": 1, "salt": "0" * 64, "body": "{}"},
        {"personal": True, "salt": "0" * 64, "body": "{}"},
        {"erased": [1], "by": 1},
        {"erased": "all", "by": 1},
        {"run": "rm -r /"},
        _part(
            b'{"apart":[["a","0000000000000000000000000000000000000000000000000000000000000000"]],"rest":{"a":1}}', 1
        ),
        _part(b'{"apart":[[1,2]],"rest":{}}', 1),
        _part(b'{"rest":{}}', 1),
        _part(b"[" * 500_000, 1),
    ],
)
def test_a_line_that_is_not_one_is_refused_with_its_number_wherever_it_stands(
    source: Path, tmp_path: Path, line: Any
) -> None:
    lines = _lines(source)
    copy = tmp_path / "copy.sqlite"
    for at in (1, 3, len(lines)):
        with pytest.raises(ArchiveError) as error:
            taken(copy, _text([*lines[:at], line, *lines[at:]]))
        fault = error.value.faults[0]
        assert (fault.code, fault.place and fault.place.line) == ("damaged-export", at + 1), fault
        with Archive.open(copy) as archive:
            assert len(archive) == 0


def test_sizes_are_bounded(source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lines = _lines(source)
    copy = tmp_path / "copy.sqlite"
    bomb = {"part": "0" * 64, "form": 0, "body": base64.b64encode(zlib.compress(bytes(80_000_000), 9)).decode()}
    with pytest.raises(ArchiveError, match="longer than 64000000 bytes"):
        taken(copy, _text([lines[0], bomb]))
    with pytest.raises(ArchiveError, match="nested deeper"):
        taken(copy, _text([lines[0]]) + b'{"a":' * 100_000 + b"1" + b"}" * 100_000)
    monkeypatch.setattr(taking, "MOST_LINE", 5000)
    with pytest.raises(ArchiveError, match="longer than 5000 bytes"):
        taken(copy, _text([lines[0], {"entry": "x" * 5000}]))


def test_pieces_that_together_are_too_long_are_refused(
    source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("airwarrant.records.parts.MOST_BYTES", 100_000)
    piece = _part(json.dumps("x" * 60_000).encode())
    rest = {f"k{number}": None for number in range(50)}
    whole = json.dumps({"rest": rest, "apart": [[key, piece["part"]] for key in rest]}).encode()
    lines = [_lines(source)[0], piece, _part(whole, 1)]
    with pytest.raises(ArchiveError, match="longer than 100000 bytes"):
        taken(tmp_path / "copy.sqlite", _text(lines))


@pytest.mark.parametrize(
    "head", [b"", b"\n", b"{}\n", b"[]\n", b"\xff\xfe\n", b"not json\n", b'{"format":"airwarrant/archive-export/2"}\n']
)
def test_a_file_that_is_no_export_is_said(tmp_path: Path, head: bytes) -> None:
    with pytest.raises(ArchiveError, match="damaged-export"):
        taken(tmp_path / "copy.sqlite", head)


@pytest.mark.parametrize(
    "name",
    [
        "../evil.toml",
        "/etc/evil.toml",
        "trade/2026-01-01/../../../evil.toml",
        "trade/2026-01-01/..\\evil.toml",
        "trade/2026-01-01/evil.sh",
        "markets/../evil.toml",
        "C:\\evil.toml",
        "evil.toml",
        "trade/2026-01-01/a/b.toml",
        "trade/2026-01-01/a\x00.toml",
    ],
)
def test_a_name_in_a_kept_policy_that_leads_elsewhere_becomes_no_file(name: str) -> None:
    with pytest.raises(ArchiveError, match="no name of a policy file"), policy_folder({name: "x = 1"}):
        pass


def test_a_damaged_archive_is_not_passed_on(source: Path) -> None:
    content = source.read_bytes()
    with Archive.open(source) as archive:
        part = bytes.fromhex(archive.entry(3).parts["record"])
        body = archive.connection.execute("SELECT body FROM part WHERE digest = ?", (part,)).get
    assert isinstance(body, bytes)
    at = content.index(body[:60])
    source.write_bytes(content[:at] + bytes([content[at] ^ 1]) + content[at + 1 :])
    with pytest.raises(ArchiveError):
        exported(source)
