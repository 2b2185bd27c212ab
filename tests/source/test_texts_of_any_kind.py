"""Whatever the bytes, a reader gives a document or an input error with places inside the text."""

import json
import tomllib
from random import Random
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from airwarrant.errors import RecordError
from airwarrant.source.document import Document, read_json, read_toml
from airwarrant.source.syntax import MOST_BYTES

SEED_TOML = """# Ä comment with "quotes" and [brackets
format = "airwarrant/job/1"
dates = { survey = 2026-07-14, permit = 2026-08-01 }
"quoted key"."b.c" = 'literal \\ text'
n = [1, 2.5, -3e2, 0x1F, 1_000, true, "é", [ [], {} ]] # end
long = \"\"\"two
lines "inside" \\u00e9 ""\"\"\"
when = 1979-05-27 07:32:00Z
clock = 10:40:00
[old.blower]
kind = "fixed-speed"
[[old.blower.setting]]
table = [
  [0.3, 1330], # a comment
  [0.4, 1285],
]
[[room]]
id = "bed-2"
[room.more]
a.b.c = 1
[[room]]
id = '''x'''
"""
SEED_JSON = '{"a": [1, -2.5e3, true, null, "é\\u00e9\\n"], "b": {"c": {}, "d": []},\n "e f": "x"}'
SCRAPS = [
    *"=.,[]{}\"'#\n\r\t \\%:x0-é\ufeff",
    "nan",
    "inf",
    '"""',
    "'''",
    "[[",
    "]]",
    "1e999",
    "//",
    "/*",
    "null",
    "\ud7ff",
]


def outcome(read: Any, text: bytes) -> Document | None:
    try:
        return read(text, "f", error=RecordError)
    except RecordError as error:
        faults = error.faults
    assert faults
    for fault in faults:
        assert fault.place
        assert 1 <= fault.place.line <= text.count(b"\n") + 1
        assert fault.place.column >= 1
    return None


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=80))
@example(b"\xef\xbb\xbf")
@example(b'a = "\x00"')
def test_any_bytes_give_a_document_or_an_input_error(text: bytes) -> None:
    outcome(read_toml, text)
    outcome(read_json, text)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.sampled_from(SCRAPS), max_size=30).map("".join))
def test_any_heap_of_punctuation_gives_a_document_or_an_input_error(text: str) -> None:
    outcome(read_toml, text.encode())
    outcome(read_json, text.encode())


@pytest.mark.parametrize("seed", range(6))
def test_a_damaged_text_is_read_exactly_if_the_arbiter_reads_it(seed: int) -> None:
    random = Random(seed)
    for _ in range(60):
        for read, original, arbiter in ((read_toml, SEED_TOML, tomllib.loads), (read_json, SEED_JSON, json.loads)):
            text = damaged(original, random)
            document = outcome(read, text.encode())
            if document is not None:
                assert document.data == arbiter(text)


@pytest.mark.parametrize(
    "scrap",
    ["[", "{", "[[", '"', "'", '"""', "a", "a.", '"a".', "a=", "a={b=", "=", "9", "\n[a]\n", "\n[[a]]\n", "é", ":1,"],
)
def test_a_long_run_of_one_scrap_is_an_input_error_and_no_recursion(scrap: str) -> None:
    text = (scrap * 60_000).encode()
    outcome(read_toml, text)
    outcome(read_json, text)


def test_a_text_over_the_size_bound_is_refused_before_it_is_parsed() -> None:
    with pytest.raises(RecordError) as caught:
        read_toml(b"#" * (MOST_BYTES + 1), "f", error=RecordError)
    assert [fault.code for fault in caught.value.faults] == ["too-large"]


def damaged(text: str, random: Random) -> str:
    for _ in range(random.randint(1, 2)):
        at = random.randrange(len(text))
        text = text[:at] + random.choice([*SCRAPS, ""]) + text[at + random.randint(0, 2) :]
    return text
