"""Seeded ways to spoil a text: what a tired hand, a bad editor or a hostile sender would do to it."""

import random
import re

_VALUES = (
    "nan", "inf", "-inf", "1e999", "-1", "0", "0,10", "10%", "true", '""', '"x"', "[]", "{}", "[[]]", "1979-05-27",
    "99999999999999999999", '"../../etc/passwd"', '"{0.__class__}"', '"{static.reading!r:>99}"', '"' + "a" * 70 + '"',
    "[" * 60 + "]" * 60, "{ a = { a = { a = 1 } } }", '"\\u0000"', '"\u202e\u0430"', "0x10", "1_000", "'''x", '"unterminated',
)  # fmt: skip
_WORDS = (
    "fail",
    "pass",
    "close",
    "house",
    "room",
    "@static_ceiling",
    "@nothing",
    "group:airflow",
    "task:none",
    "measured",
)


def mutate(text: str, rng: random.Random) -> str:
    """Return `text` with one to three slips."""
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        text = rng.choice(_WAYS)(text, rng)
    return text


def _drop_line(text: str, rng: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    if lines:
        del lines[rng.randrange(len(lines))]
    return "".join(lines)


def _double_line(text: str, rng: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    if lines:
        at = rng.randrange(len(lines))
        lines.insert(rng.randrange(len(lines) + 1), lines[at])
    return "".join(lines)


def _other_value(text: str, rng: random.Random) -> str:
    spots = list(re.finditer(r"(?<== )[^\n#]+", text))
    if not spots:
        return text
    spot = rng.choice(spots)
    return text[: spot.start()] + rng.choice(_VALUES) + text[spot.end() :]


def _other_number(text: str, rng: random.Random) -> str:
    spots = list(re.finditer(r"-?\d+(\.\d+)?", text))
    if not spots:
        return text
    spot = rng.choice(spots)
    return (
        text[: spot.start()]
        + rng.choice(("-" + spot[0], spot[0] + "000000", "0", "1e5", "1e-5", spot[0] + "e400"))
        + text[spot.end() :]
    )


def _other_word(text: str, rng: random.Random) -> str:
    spots = list(re.finditer(r'"[^"\n]*"', text))
    if not spots:
        return text
    spot = rng.choice(spots)
    return text[: spot.start()] + '"' + rng.choice(_WORDS) + '"' + text[spot.end() :]


def _misspell_key(text: str, rng: random.Random) -> str:
    spots = list(re.finditer(r"(?m)^\w[\w.]*(?= =)|(?<=\[)[\w.-]+(?=\])", text))
    if not spots:
        return text
    spot = rng.choice(spots)
    at = rng.randrange(len(spot[0]))
    return text[: spot.start() + at] + rng.choice("xqz_.-é ") + text[spot.start() + at + rng.randrange(2) :]


def _drop_char(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + text[at + 1 :]


def _put_char(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice("\"'[]{}=,.#\n\t\\\x00\u2028é€😀") + text[at:]


def _cut(text: str, rng: random.Random) -> str:
    return text[: rng.randrange(len(text) + 1)]


def _move_block(text: str, rng: random.Random) -> str:
    blocks = re.split(r"(?m)^(?=\[)", text)
    if len(blocks) > 2:
        block = blocks.pop(rng.randrange(1, len(blocks)))
        blocks.insert(rng.randrange(1, len(blocks) + 1), block)
    return "".join(blocks)


_WAYS = (
    _drop_line, _double_line, _other_value, _other_value, _other_number, _other_word, _other_word, _misspell_key, _drop_char, _put_char,
    _cut, _move_block,
)  # fmt: skip
