"""Files that a replay keeps beside it: facts that are told twice, and a journal that is no journal."""

from pathlib import Path

import pytest
from sides_of_a_change import STRICTER_DOORS, asked, changed_folder

from airwarrant.errors import CallError
from airwarrant.replay.journal import Journal
from airwarrant.replay.kept_facts import KeptFacts

_STAMP = b"s" * 32


def _facts(at: int) -> bytes:
    return _STAMP + bytes([at]) * 40


def test_a_record_that_stands_twice_is_kept_once_and_nothing_is_cut(tmp_path: Path) -> None:
    path = tmp_path / "facts"
    with KeptFacts(path) as kept:
        for at, key in enumerate("aabc"):
            kept.add(key, _facts(at))
    with KeptFacts(path) as kept:
        kept.add("d", _facts(9))
        assert kept.get("c") == _facts(3), "what was mapped still stands"
    with KeptFacts(path) as kept:
        assert [kept.get(key) for key in "abcd"] == [_facts(0), _facts(2), _facts(3), _facts(9)]


def test_a_file_in_which_a_record_stands_twice_is_not_cut(tmp_path: Path) -> None:
    once, path = tmp_path / "once", tmp_path / "facts"
    with KeptFacts(once) as kept:
        kept.add("a", _facts(1))
    head = len(once.read_bytes()) - 80 - len(_facts(1))
    entry = once.read_bytes()[head:]
    path.write_bytes(once.read_bytes() + entry + b"b" + entry[1:])
    with KeptFacts(path) as kept:
        kept.add("c", _facts(2))
        assert kept.get("b") == _facts(1)
    with KeptFacts(path) as kept:
        assert [kept.get(key) for key in "abc"] == [_facts(1), _facts(1), _facts(2)]


@pytest.mark.parametrize("content", [b'title = "mine"\n', b"\xff\xfe", b"[1, 2]\n", b'{"format": "mine/1"}\n'])
def test_a_file_that_is_no_journal_is_left_as_it_is(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "notes"
    path.write_bytes(content)
    with pytest.raises(CallError) as raised:
        Journal(path, asked(changed_folder(tmp_path / "policies", STRICTER_DOORS)))
    assert [fault.code for fault in raised.value.faults] == ["not-a-journal"]
    assert path.read_bytes() == content
