"""What the TOML and the JSON reader share: bounds on a text, positions in it, faults of its syntax tree and values."""

import math
import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from itertools import islice
from typing import Any

from tree_sitter import Node, Tree

from airwarrant.errors import Fault
from airwarrant.source.place import Place

Path = tuple[str | int, ...]

MOST_BYTES = 1_000_000
MOST_NESTING = 40
MOST_PARTS = 20
LONGEST_TOKEN = 400
MOST_FAULTS = 50  # of one text's syntax in one report; what comes after the fiftieth is seldom news
LARGEST_INTEGER = 2**53

_BOM = b"\xef\xbb\xbf"
_LATER_BYTES = re.compile(rb"[\x80-\xbf]")
_LONG_TOKEN = re.compile(rf"(?<![\w.+-])[\w.+-]{{{LONGEST_TOKEN + 1},}}")
_PART = r"""(?:[\w-]+|"~*"|'~*')"""
_LONG_KEY = re.compile(rf"(?<![\w.\"'~-]){_PART}(?:[ \t]*\.[ \t]*{_PART}){{{MOST_PARTS},}}")
MASK = "~"


class Refused(Exception):
    """The text cannot be read; `document` turns this into the error its caller asked for."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(islice(faults, MOST_FAULTS))
        super().__init__(len(self.faults))


class Text:
    """A text that may be read: UTF-8, of bounded size, with its positions.

    Attributes
    ----------
    file, bytes, text
        The file's name, and its content without a byte order mark.
    """

    def __init__(self, raw: bytes, file: str) -> None:
        self.file = file
        self.bytes = raw.removeprefix(_BOM)
        if len(self.bytes) > MOST_BYTES:
            raise Refused(
                [self.fault_at(0, "too-large", f"a file of {len(raw):,} bytes", f"at most {MOST_BYTES:,} bytes")]
            )
        try:
            self.text = self.bytes.decode("utf-8")
        except UnicodeDecodeError as error:
            found = "a byte that is no character of UTF-8"
            advice = "Save the file as text with the encoding UTF-8."
            raise Refused([self.fault_at(error.start, "not-utf8", found, "UTF-8 text", advice)]) from None
        nul = self.bytes.find(b"\0")
        if nul >= 0:
            raise Refused([self.fault_at(nul, "nul", "a byte of nothing (NUL)", "text", "Save the file as text.")])

    @cached_property
    def _byte_lines(self) -> list[int]:
        """Where each line begins, as bytes are counted; many texts are read without a place being asked for."""
        return [0, *(m.end() for m in re.finditer(rb"\n", self.bytes))]

    @cached_property
    def _later(self) -> list[int]:
        return [m.start() for m in _LATER_BYTES.finditer(self.bytes)]

    @cached_property
    def _lines(self) -> list[int]:
        return [0, *(m.end() for m in re.finditer("\n", self.text))]

    def at_byte(self, offset: int) -> Place:
        """Place of a byte offset."""
        line = bisect_right(self._byte_lines, offset)
        start = self._byte_lines[line - 1]
        later = bisect_left(self._later, offset) - bisect_left(self._later, start) if self._later else 0
        return Place(self.file, line, offset - start - later + 1)

    def at(self, offset: int) -> Place:
        """Place of a character offset."""
        line = bisect_right(self._lines, offset)
        return Place(self.file, line, offset - self._lines[line - 1] + 1)

    def line(self, number: int) -> str:
        """Text of a line, counted from 1."""
        end = self._lines[number] if number < len(self._lines) else len(self.text)
        return self.text[self._lines[number - 1] : end].rstrip("\r\n")

    def fault_at(self, byte: int, code: str, found: str, allowed: str = "", advice: str = "") -> Fault:
        return Fault(code, found, allowed, self.at_byte(byte), advice=advice)


def check_bounds(text: Text, masked: str) -> None:
    """Refuse what would cost a parser its stack or its time; `masked` is the text without what strings hold."""
    depth = 0
    for bracket in re.finditer(r"[\[\]{}]", masked):
        depth += 1 if bracket[0] in "[{" else -1
        # A surplus closing bracket must not make room for more opening ones.
        depth = max(depth, 0)
        if depth > MOST_NESTING:
            place = text.at(bracket.start())
            raise Refused([Fault("too-deep", f"{depth} brackets inside each other", f"at most {MOST_NESTING}", place)])
    # Neither goes past the end of a line, and nearly every text has only lines in which there is no room for either.
    lines = masked.split("\n")
    for pattern, code, found, allowed, room in (
        (_LONG_TOKEN, "too-long", "a number or name of more than {} characters", LONGEST_TOKEN, map(len, lines)),
        (_LONG_KEY, "too-deep", "a key of more than {} parts", MOST_PARTS, (line.count(".") + 1 for line in lines)),
    ):
        if max(room) > allowed and (match := pattern.search(masked)):
            raise Refused([Fault(code, found.format(allowed), f"at most {allowed}", text.at(match.start()))])


def mask(text: str, tokens: re.Pattern[str]) -> str:
    """Return `text` with what strings hold replaced by ``~`` and comments by blanks, every offset kept.

    `tokens` matches strings and, as the group ``comment``, comments.
    """

    def replace(match: re.Match[str]) -> str:
        token = match[0]
        if match.lastgroup == "comment":
            return " " * len(token)
        return token[0] + MASK * (len(token) - 2) + token[0] if len(token) > 1 else token

    return tokens.sub(replace, text)


def emptied(text: str, tokens: re.Pattern[str]) -> str:
    """Return `text` with every string and comment made an empty string: as good as `mask` for bounds, but offsets are not kept."""
    return tokens.sub('""', text)


def broken_nodes(tree: Tree) -> Iterator[Node]:
    """Yield the outermost ERROR and MISSING nodes, in order; a node that only says that it holds one stands for it."""
    stack = [tree.root_node] if tree.root_node.has_error else []
    while stack:
        node = stack.pop()
        inner = [child for child in node.children if child.is_error or child.has_error or child.is_missing]
        if node.is_error or node.is_missing or not inner:
            yield node
        else:
            stack.extend(reversed(inner))


def innermost(node: Node) -> Iterator[Node]:
    """Yield the ERROR and MISSING nodes inside `node` that hold no other, or `node` itself."""
    stack, found = [node], False
    while stack:
        here = stack.pop()
        inner = [child for child in here.children if child.is_error or child.has_error or child.is_missing]
        stack.extend(reversed(inner))
        if not inner and (here.is_error or here.is_missing) and here is not node:
            found = True
            yield here
    if not found:
        yield node


def value_faults(data: Any, places: Mapping[Path, Place]) -> list[Fault]:
    """Faults of single values: numbers that are not finite or not exact, text that is not Unicode."""
    if _sound(data):
        return []
    faults: list[Fault] = []
    stack: list[tuple[Path, Any]] = [((), data)]
    while stack:
        path, value = stack.pop()
        if isinstance(value, dict):
            stack.extend(((*path, key), inner) for key, inner in value.items())
            faults.extend(_text_faults(key, places[(*path, key)]) for key in value if _bad_text(key))
        elif isinstance(value, list):
            stack.extend(((*path, i), inner) for i, inner in enumerate(value))
        elif isinstance(value, float) and not math.isfinite(value):
            faults.append(not_finite(str(value), places[path]))
        elif isinstance(value, int) and abs(value) > LARGEST_INTEGER:
            faults.append(
                Fault("too-long", f"{snippet(str(value))}", f"whole numbers up to {LARGEST_INTEGER}", places[path])
            )
        elif isinstance(value, str) and _bad_text(value):
            faults.append(_text_faults(value, places[path]))
    return faults


def _sound(value: Any) -> bool:
    """Whether nothing inside a value is at fault; nearly always so, and then no path to it is needed."""
    if isinstance(value, str):
        return not _bad_text(value)
    if isinstance(value, float):
        return math.isfinite(value)
    if isinstance(value, int):
        return abs(value) <= LARGEST_INTEGER
    if isinstance(value, dict):
        return all([_sound(inner) for inner in value.values()]) and not any(map(_bad_text, value))
    return not isinstance(value, list) or all([_sound(inner) for inner in value])


def not_finite(found: str, place: Place) -> Fault:
    """The fault of nan, inf and of numbers past the largest float."""
    return Fault("not-finite", f"`{found}`", "a finite number", place, advice="Leave the key out if nothing was read")


def decimal_comma(whole: str, part: str, place: Place) -> Fault:
    """The fault of ``0,10``."""
    grouped = f", or {whole}{part} if the comma groups thousands" if len(part) == 3 else ""
    return Fault(
        "decimal-comma", f"`{whole},{part}`", "a decimal point", place, advice=f"Write {whole}.{part}{grouped}"
    )


def percent_sign(number: str, place: Place, equals: str) -> Fault:
    """The fault of ``10%``."""
    advice = f'Write value{equals}{number} and unit{equals}"%"'
    return Fault("percent-sign", f"`{number}%`", "a number without a sign of its unit", place, advice=advice)


def same_shape(data: Any, places: Mapping[Path, Place]) -> bool:
    """Whether `places` has exactly the paths of `data`."""
    count = 0
    stack: list[tuple[Path, Any]] = [((), data)]
    while stack:
        path, value = stack.pop()
        if path not in places:
            return False
        count += 1
        if isinstance(value, dict):
            stack.extend(((*path, key), inner) for key, inner in value.items())
        elif isinstance(value, list):
            stack.extend(((*path, i), inner) for i, inner in enumerate(value))
    return count == len(places)


def snippet(text: str) -> str:
    """A short piece of `text` for a message, on one line and without characters that steer a terminal."""
    line = "".join(c if c.isprintable() else "\ufffd" for c in text.strip().split("\n", 1)[0].strip())
    return line if len(line) <= 40 else f"{line[:37]}…"


_NOT_TEXT = re.compile("[\0\ud800-\udfff]")


def _bad_text(value: str) -> bool:
    return (not value.isascii() and _NOT_TEXT.search(value) is not None) or "\0" in value


def _text_faults(value: str, place: Place) -> Fault:
    found = "a NUL character" if "\0" in value else "half a character"
    return Fault("bad-text", f"text with {found}", "Unicode text", place)
