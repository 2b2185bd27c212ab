"""A place leads to the text that the value was read from."""

import re
from typing import Any

import pytest

from airwarrant.errors import RecordError
from airwarrant.source.document import Document, read_json, read_toml
from airwarrant.source.syntax import Path

TOML = """title = "é, 漢字 and 🙂" # ü
dates = { note = "äöü", survey = 2026-07-14 }
words = ["ß", 0.5, { deep.er = -1 }]
text = \"\"\"
first line é
second\"\"\"
after = 'one'
\t[old . "blower head"]
\tkind = "fixed-speed"
[[room]]
flow = 72.5
[room.more]
a = true
[[room]]
flow = 118
"""
JSON = '{"é🙂": "ü", "room": [{"flow": 72.5}, {"flow": -118}],\r\n\t"ä": {"b": [true, null, "c"]}}'


def leaves(data: Any, path: Path = ()) -> dict[Path, Any]:
    if isinstance(data, dict):
        return {p: v for key, inner in data.items() for p, v in leaves(inner, (*path, key)).items()}
    if isinstance(data, list):
        return {p: v for i, inner in enumerate(data) for p, v in leaves(inner, (*path, i)).items()}
    return {path: data}


def text_at(text: str, document: Document, path: Path) -> str:
    place = document.places[path]
    return "\n".join(text.split("\n")[place.line - 1 :])[place.column - 1 :]


@pytest.mark.parametrize(("read", "text"), [(read_toml, TOML), (read_json, JSON)])
def test_every_value_stands_where_its_place_says(read: Any, text: str) -> None:
    document = read(text.encode(), "f", error=RecordError)
    for path, value in leaves(document.data).items():
        found = text_at(text, document, path)
        if isinstance(value, str):
            inner = re.match(r"(\"\"\"\n|['\"])", found)
            assert inner
            assert found[inner.end() :].startswith(value)
        elif isinstance(value, bool) or value is None:
            assert found.startswith({True: "true", False: "false", None: "null"}[value])
        else:
            assert found.startswith(str(value))


@pytest.mark.parametrize(("read", "text"), [(read_toml, TOML), (read_json, JSON)])
def test_every_key_stands_where_its_key_place_says(read: Any, text: str) -> None:
    document = read(text.encode(), "f", error=RecordError)
    lines = text.split("\n")
    for path, place in document.key_places.items():
        name = next(part for part in reversed(path) if isinstance(part, str))
        assert lines[place.line - 1][place.column - 1 :].lstrip('"').startswith(name)


def test_a_byte_order_mark_shifts_no_column() -> None:
    document = read_toml(b"\xef\xbb\xbfa = 1\r\nb = 2\r\n", "f", error=RecordError)
    assert [str(document.place((key,))) for key in "ab"] == ["f:1:5", "f:2:5"]


def test_a_path_that_does_not_exist_has_the_place_of_what_is_around_it() -> None:
    document = read_toml(TOML.encode(), "f", error=RecordError)
    assert document.place(("room", 1, "pressure")) == document.places["room", 1]
    assert str(document.place(("nowhere",))) == "f:1:1"


def test_a_table_stands_at_its_header_even_if_a_part_of_it_came_first() -> None:
    document = read_toml(b"[a.b]\nx = 1\n[a]\ny = 2\n", "f", error=RecordError)
    assert [str(document.places[path]) for path in (("a",), ("a", "b"))] == ["f:3:1", "f:1:1"]
