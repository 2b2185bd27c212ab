"""Each slip of the pen has its own message, and one report holds them all."""

from typing import Any

import pytest

from airwarrant.errors import RecordError
from airwarrant.source.document import read_json, read_toml
from airwarrant.source.syntax import MOST_FAULTS, MOST_NESTING, MOST_PARTS


def faults(read: Any, text: str | bytes) -> list[tuple[str, str]]:
    with pytest.raises(RecordError) as caught:
        read(text.encode() if isinstance(text, str) else text, "f", error=RecordError)
    return [(str(fault.place), fault.code) for fault in caught.value.faults]


def test_one_report_holds_every_fault_of_a_toml_text() -> None:
    text = 'é = 1\na = 0,10\nb = 10%\nc = high\nd = "ok"\ne =\n[[f]\ng = { value = 0,48, state = "table" }\n'
    assert faults(read_toml, text) == [
        ("f:1:1", "syntax"),
        ("f:2:5", "decimal-comma"),
        ("f:3:5", "percent-sign"),
        ("f:4:5", "unquoted-text"),
        ("f:6:4", "syntax"),
        ("f:7:4", "syntax"),
        ("f:8:15", "decimal-comma"),
    ]


def test_one_report_holds_every_fault_of_a_json_text() -> None:
    text = '{"a": 0,10,\n "b": 10%,\n "c": NaN,\n "d": [1 2],\n "e": -Infinity,\n "f": tru}'
    found = faults(read_json, text)
    assert set(found) >= {
        ("f:1:7", "decimal-comma"),
        ("f:2:7", "percent-sign"),
        ("f:3:7", "not-finite"),
        ("f:5:7", "not-finite"),
    }
    assert {place.split(":")[1] for place, _ in found} >= {"4", "6"}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a = 1\na = 2\n[t]\n[t]\n[[t]]\n", ["f:2:1", "f:4:2", "f:5:3"]),
        ("[t]\nx.y = 1\nx.y = 2\n", ["f:3:3"]),
        ("a = { b = 1, b = 2 }", ["f:1:14"]),
        ("a = 1\na.b = 2\n", ["f:2:1"]),
        ('[a]\n[["a"]]\n', ["f:2:3"]),
    ],
)
def test_a_toml_key_written_twice_is_named_with_its_first_place(text: str, expected: list[str]) -> None:
    assert faults(read_toml, text) == [(place, "duplicate-key") for place in expected]


def test_a_json_key_written_twice_is_named_even_if_escaped() -> None:
    assert faults(read_json, '{"a": 1, "\\u0061": 2, "b": [{"c": 1, "c": 2}]}') == [
        ("f:1:10", "duplicate-key"),
        ("f:1:38", "duplicate-key"),
    ]


@pytest.mark.parametrize("value", ["nan", "-inf", "inf", "1e999", "-1e400"])
def test_a_toml_number_must_be_finite(value: str) -> None:
    assert faults(read_toml, f"a = [1, {value}]") == [("f:1:9", "not-finite")]


def test_a_json_number_must_be_finite() -> None:
    assert faults(read_json, '{"a": [1e999, 2]}') == [("f:1:8", "not-finite")]


@pytest.mark.parametrize(("read", "text"), [(read_toml, "a = {}"), (read_json, '{{"a": {}}}')])
def test_a_whole_number_must_be_exact_in_a_float(read: Any, text: str) -> None:
    assert faults(read, text.format(2**53 + 1))[0][1] == "too-long"
    assert faults(read, text.format("9" * 5000))[0][1] == "too-long"
    assert read(text.format(-(2**53)).encode(), "f", error=RecordError).data == {"a": -(2**53)}


@pytest.mark.parametrize(("read", "text"), [(read_toml, "a = "), (read_json, '{"a": ')])
def test_brackets_inside_each_other_are_bounded(read: Any, text: str) -> None:
    assert faults(read, text + "[" * (MOST_NESTING + 1) + "]" * (MOST_NESTING + 1))[0][1] == "too-deep"


def test_a_bracket_in_a_string_or_comment_does_not_count() -> None:
    text = f'a = "{"[" * 100}" # {"[" * 100}\nb = """\n{"{" * 100}"""\nc = \'{"[" * 100}\''
    assert set(read_toml(text.encode(), "f", error=RecordError).data) == {"a", "b", "c"}


def test_the_parts_of_a_key_are_bounded() -> None:
    assert faults(read_toml, ".".join("a" * (MOST_PARTS + 1)) + " = 1")[0][1] == "too-deep"
    assert faults(read_toml, " . ".join(['"a"'] * (MOST_PARTS + 1)) + " = 1")[0][1] == "too-deep"
    assert read_toml((".".join("a" * MOST_PARTS) + " = 1").encode(), "f", error=RecordError).data


@pytest.mark.parametrize(
    ("read", "text", "code"),
    [
        (read_toml, b"a = '\xff'", "not-utf8"),
        (read_toml, b"a = '\x00'", "nul"),
        (read_toml, b'a = "\\u0000"', "bad-text"),
        (read_json, b'{"a": "\\ud800"}', "bad-text"),
        (read_json, b'{"\\ud800": 1}', "bad-text"),
        (read_json, b"[]", "syntax"),
        (read_json, b"", "syntax"),
        (read_json, b'{"a": 1} {"b": 2}', "syntax"),
        (read_json, b'{"a": 1} // note', "syntax"),
    ],
)
def test_text_that_is_not_unicode_or_not_one_object_is_refused(read: Any, text: bytes, code: str) -> None:
    assert {c for _, c in faults(read, text)} == {code}


def test_a_comma_that_may_group_thousands_is_answered_both_ways() -> None:
    with pytest.raises(RecordError, match=r"Write 1.330, or 1330 if the comma groups thousands"):
        read_toml(b"flow = 1,330", "f", error=RecordError)


def test_a_decimal_comma_is_not_seen_in_a_list_or_in_text() -> None:
    text = b'a = [0,10]\nb = "x = 0,10"\nc = { d = 0, e = 10 } # = 0,10\n'
    assert read_toml(text, "f", error=RecordError).data["a"] == [0, 10]


def test_a_report_is_bounded() -> None:
    assert len(faults(read_toml, "a = \n" * 500)) == MOST_FAULTS
    assert len(faults(read_toml, "[a]\n" * 500)) == MOST_FAULTS
