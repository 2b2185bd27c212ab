"""Personal data stands apart, comes back byte for byte while it is there, and once erased is gone from the disk."""

import json
import tomllib
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_archive import TOLD, findings, kept, of_test_out, result, text

from airwarrant.errors import ArchiveError
from airwarrant.job.reading_records import parse_job
from airwarrant.records import personal
from airwarrant.records.archive import Archive
from airwarrant.records.erase import erase
from airwarrant.records.kept import ERASURE
from airwarrant.records.personal import ERASED, mask, personal_paths, unmask
from jobs import JOBS, SCENARIOS

ANYTHING_PERSONAL = (
    TOLD,
    "Key under the mat",
    "Nobody Atall",
    "Nowhere Lane",
    "front-door",
    "Dog in the yard",
    "smith-",
)


def test_texts_of_every_kind_are_taken_out_and_put_back() -> None:
    record = (
        r'''
# a comment, "in quotes"
note = """
Mr. A "the owner"
of the house"""   # trailing
id = "note"
[house]
"told" = 'a literal \ text'
told2 = "told = 'not this'"
[customer]
name = "Zoë \"Q\" Public"
address.street = "1 Nowhere Lane"
[[room]]
id = "den"
name = "note"
note = '''.encode()
        + b"'''\nseveral\nlines'''\n"
        + b'photo = "x.jpg" # said\n'
    )
    masked = mask(record, "job.toml")
    assert unmask(masked.text, masked.taken) == record
    data = tomllib.loads(masked.text.decode())
    assert data["note"] == data["house"]["told"] == data["room"][0]["note"] == data["room"][0]["photo"] == ERASED
    assert data["customer"] == {"name": ERASED, "address": {"street": ERASED}}
    assert (data["id"], data["house"]["told2"], data["room"][0]["name"]) == ("note", "told = 'not this'", "note")
    for word in (b"owner", b"comment", b"literal", b"Public", b"Nowhere", b"several", b"x.jpg", b"said"):
        assert word not in masked.text
    assert masked.text.count(b"\n") == record.count(b"\n"), "every other value keeps its line"


def test_a_record_in_json_is_masked_too() -> None:
    record = json.dumps(
        {"note": "n\u00e4me # x", "house": {"told": "a \"b\" 'c'"}, "customer": {"name": "N"}, "id": "n # y"}
    )
    masked = mask(record.encode(), "job.json")
    assert unmask(masked.text, masked.taken) == record.encode()
    assert json.loads(masked.text) == {
        "note": ERASED,
        "house": {"told": ERASED},
        "customer": {"name": ERASED},
        "id": "n # y",
    }
    escaped = b'{"n\\u006fte": "hidden key", "id": "1"}'
    masked = mask(escaped, "job.json")
    assert b"hidden" not in masked.text
    assert unmask(masked.text, masked.taken) == escaped


@pytest.mark.parametrize("job", JOBS)
def test_a_masked_record_is_the_same_record_but_for_what_is_personal(job: str) -> None:
    text = (SCENARIOS / f"job-{job}.toml").read_bytes()
    masked = mask(text, "job.toml")
    assert masked.taken
    assert unmask(masked.text, masked.taken) == text
    before, after = tomllib.loads(text.decode()), tomllib.loads(masked.text.decode())
    for path in personal_paths(before):
        held: Any = before
        for key in path[:-1]:
            held = held[key]
        held[path[-1]] = ERASED
    assert after == before
    assert parse_job(masked.text, "job.toml").id == job


_KEY = st.sampled_from(["told", "note", "photo", "name", "id", "customer", "x"])
_VALUE = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)


@given(
    st.recursive(
        st.dictionaries(_KEY, _VALUE, max_size=4),
        lambda inner: st.dictionaries(_KEY, st.one_of(_VALUE, inner, st.lists(inner, max_size=2)), max_size=4),
        max_leaves=8,
    )
)
def test_any_record_is_put_back_as_it_was_and_only_what_is_personal_is_taken(data: dict[str, Any]) -> None:
    import tomli_w

    for record, file, read in (
        (tomli_w.dumps(data), "job.toml", tomllib.loads),
        (json.dumps(data), "job.json", json.loads),
    ):
        masked = mask(record.encode(), file)
        assert unmask(masked.text, masked.taken) == record.encode()
        after = read(masked.text.decode())
        left = [path for path in personal_paths(after) if _at(after, path) != ERASED]
        assert not left
        assert _without(after) == _without(data)


def _at(data: Any, path: tuple[str | int, ...]) -> Any:
    for key in path:
        data = data[key]
    return data


def _without(data: dict[str, Any]) -> dict[str, Any]:
    """A copy with every personal text replaced."""
    copy: dict[str, Any] = json.loads(json.dumps(data))
    for path in list(personal_paths(copy)):
        held = _at(copy, path[:-1])
        held[path[-1]] = "…"
    return copy


@given(
    st.recursive(
        st.dictionaries(st.sampled_from(["told", "note", "photo", "name", "x"]), _VALUE, max_size=4),
        lambda inner: st.dictionaries(_KEY.filter("customer".__ne__), st.one_of(_VALUE, inner), max_size=4),
        max_leaves=8,
    ),
    st.sampled_from(["", '# told = "x"\n', "\"note\"   =   'a # b'  # c\n"]),
)
def test_without_a_customer_the_quick_way_takes_what_reading_the_whole_file_takes(
    data: dict[str, Any], head: str
) -> None:
    import tomli_w

    data = {key: value for key, value in data.items() if key != "note"}
    texts = ((head + tomli_w.dumps(data), "job.toml"), (json.dumps(data), "job.json"))
    for record, file in texts:
        if "\\u" not in record and "\\U" not in record:
            quick = mask(record.encode(), file)
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(personal, "_NESTED", personal._MAYBE)
                assert mask(record.encode(), file) == quick


@pytest.fixture
def archive_path(tmp_path: Path) -> Path:
    path = tmp_path / "a.sqlite"
    with Archive.open(path, write=True) as archive:
        archive.keep(kept(1, file="smith-house.toml"))
        archive.keep(kept(2, told="Quiet and cool everywhere."))
        archive.keep(of_test_out(1, 1))
    return path


def _on_disk(folder: Path) -> set[str]:
    """What of the first job's personal data stands in any file of a folder, packed parts unpacked."""
    import sqlite3
    import zlib

    content = b"".join(file.read_bytes() for file in folder.iterdir())
    with sqlite3.connect(folder / "a.sqlite") as plain:
        content += b"".join(zlib.decompress(body) for (body,) in plain.execute("SELECT body FROM part"))
        content += b"".join(head.encode() for (head,) in plain.execute("SELECT head FROM entry"))
    return {words for words in ANYTHING_PERSONAL if words.encode() in content}


def test_while_it_is_there_it_is_under_a_salted_digest_and_nowhere_else(archive_path: Path) -> None:
    with Archive.open(archive_path) as archive:
        entry = archive.entry(1)
        salt, body = archive.connection.execute("SELECT salt, body FROM personal WHERE entry = 1").fetchall()[0]
        assert isinstance(salt, bytes)
        assert isinstance(body, bytes)
        assert len(salt) == 32
        assert entry.parts["personal"] == sha256(salt + body).hexdigest()
        assert sha256(body).hexdigest() not in entry.head
        assert archive.record_text(entry) == text(1)
        assert archive.file_name(entry) == "smith-house.toml"
        for name in entry.parts:
            if name != "personal":
                content = archive.part(entry, name) or b""
                assert not [words for words in ANYTHING_PERSONAL if words.encode() in content], name


def test_once_erased_it_is_gone_from_the_disk_and_everything_else_stays(archive_path: Path) -> None:
    assert _on_disk(archive_path.parent) == set(ANYTHING_PERSONAL)
    with Archive.open(archive_path, write=True) as archive:
        made = erase(
            archive, [archive.entry(1), archive.entry(3)], why="asked by letter", kept_at="2026-12-01T08:00:00Z"
        )
        assert (made.number, made.kind, made.said) == (4, ERASURE, {"of": [1, 3], "why": "asked by letter"})
        # Of what the second job holds too, nothing may be looked for on the disk.
        erase(archive, [archive.entry(2)], why="asked by letter", kept_at="2026-12-01T08:00:00Z")
    assert _on_disk(archive_path.parent) == set()
    assert not findings(archive_path)
    with Archive.open(archive_path) as archive:
        entry = archive.entry(1)
        assert archive.erased_by(entry) == 4
        record = archive.record(entry)
        assert record.told == ERASED
        assert record.digest == kept(1).record.digest, "draws and digests are those of the record as it was"
        assert (record.id, record.overrides) == ("1", kept(1).record.overrides)
        stored = archive.result(entry)
        assert stored is not None
        assert stored["record"]["told"] == ERASED
        assert stored["program"]["record"]["file"] == "job-1.toml"
        assert stored["lines"] == result(1)["lines"]
        assert b"Dog" not in archive.test_out_text(archive.entry(3))


def test_an_erasure_is_of_what_was_asked_and_only_once(archive_path: Path) -> None:
    with Archive.open(archive_path, write=True) as archive:
        with pytest.raises(ArchiveError, match="No reason"):
            erase(archive, [archive.entry(1)], why=" ", kept_at="")
        erase(archive, [archive.entry(1)], why="asked", kept_at="2026-12-01T08:00:00Z")
        assert archive.record_text(archive.entry(2)) == text(2, "Quiet and cool everywhere.")
        assert b"Dog" in archive.test_out_text(archive.entry(3))
        with pytest.raises(ArchiveError, match="erased before, by entry 4"):
            erase(archive, [archive.entry(1)], why="asked", kept_at="")
        with pytest.raises(ArchiveError, match="holds no personal data"):
            erase(archive, [archive.entry(4)], why="asked", kept_at="")
        assert len(archive) == 4


def test_two_jobs_with_the_same_personal_data_have_digests_that_do_not_show_it(tmp_path: Path) -> None:
    with Archive.open(tmp_path / "a.sqlite", write=True) as archive:
        one, other = archive.keep(kept(1)), archive.keep(kept(1))
        assert one.parts["personal"] != other.parts["personal"]
        assert {name: d for name, d in one.parts.items() if name != "personal"} == {
            name: d for name, d in other.parts.items() if name != "personal"
        }
