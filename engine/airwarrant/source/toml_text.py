"""TOML 1.0 with positions: ``tomli`` decides what is valid and what it means, the syntax tree where it stands."""

import re
from collections import defaultdict
from typing import Any

import tomli
import tree_sitter_toml
from tree_sitter import Language, Node, Parser, Tree

from airwarrant.errors import EngineFault, Fault
from airwarrant.source.place import Place
from airwarrant.source.syntax import (
    MOST_FAULTS,
    Path,
    Refused,
    Text,
    broken_nodes,
    check_bounds,
    decimal_comma,
    emptied,
    mask,
    percent_sign,
    same_shape,
    snippet,
    value_faults,
)
from airwarrant.source.toml_places import Walk

_LANGUAGE = Language(tree_sitter_toml.language())
# The unterminated forms come last and take what is left, so that one of them ends the search in linear time.
_TOKENS = re.compile(
    r'"""(?:\\[\s\S]|[^\\])*?"{3,5}|"""[\s\S]*'
    r"|'''[\s\S]*?'{3,5}|'''[\s\S]*"
    r'|"(?:\\[^\n]|[^"\\\n])*"?'
    r"|'[^'\n]*'?"
    r"|(?P<comment>\#[^\n]*)"
)
_COMMA = re.compile(r"=[ \t]*([+-]?\d+),(\d+)[ \t]*(?=[,}\r\n]|\Z)")
_PERCENT = re.compile(r"=[ \t]*([+-]?\d+(?:[.,]\d+)?)[ \t]*%")
_UNQUOTED = re.compile(r"^[ \t]*[\w\"'.-]+[ \t]*=[ \t]*([^\W\d]\w*(?:-\w+)*)[ \t]*\r?$")
_AT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_CURLY = re.compile("[“”„‘’]")


#: Words of tomli -> what an owner reads.
_STUMBLES = (
    ("Expected ']]'", "]] is missing"),
    ("Expected ']'", "] is missing"),
    ("Expected '='", "= is missing after the key"),
    ("Expected newline", "more stands after the value than one line may hold"),
    ("Unclosed array", "the list is not closed with ]"),
    ("Unclosed inline table", "the block is not closed with }"),
    ("Unterminated string", "the text has no closing quote"),
    ('Expected "\'"', "the text has no closing quote"),
    ("Illegal character", "a character that may not stand in text"),
    ("Unescaped", "a \\ in text must be written twice, or the text set in single quotes"),
    ("Invalid hex", "\\u needs four digits, \\U eight"),
    ("scalar value", "a character that is none"),
    ("Invalid date", "there is no such day or time"),
    ("Invalid value", "the value is none: text stands in quotes, a number has no other sign"),
    ("Invalid initial character", "a key begins with a letter, a digit, - or _, else it stands in quotes"),
    ("Invalid statement", "a line is a key with its value, or a [table]"),
    ("Cannot overwrite", "the key has a value already"),
    ("Cannot declare", "the table stands twice"),
    ("Cannot mutate", "the block in { } is closed already"),
    ("Duplicate inline", "the key stands twice"),
    ("Expected", "something is missing"),
)


def parse_toml(raw: bytes, file: str) -> tuple[dict[str, Any], dict[Path, Place], dict[Path, Place]]:
    """Return the data, the place of every value and the place of every key.

    Raises
    ------
    Refused
        With every fault found.
    EngineFault
        If the tree and ``tomli`` see different shapes in one valid text.
    """
    text = Text(raw, file)
    masked = mask(text.text, _TOKENS)
    check_bounds(text, masked)
    faults, repaired = _mistakes(text, masked)
    tree = _parse(repaired.encode())
    if faults or tree.root_node.has_error:
        raise Refused([*faults, *_tree_faults(text, tree)])
    try:
        data = tomli.loads(text.text)
    except tomli.TOMLDecodeError as error:
        raise Refused(_walk(text, tree).twice or [_reader_fault(text, error)]) from None
    walk = _walk(text, tree)
    if not same_shape(data, walk.places):
        raise EngineFault("source-shape", f"{file}: the two TOML readers see different shapes")
    if faults := value_faults(data, walk.places):
        raise Refused(faults)
    return data, walk.places, walk.keys


def plain_data(raw: bytes, file: str) -> dict[str, Any]:
    """Return the data alone of a text without a fault, which takes a fraction of the time.

    Raises
    ------
    Refused
        If there is any fault; `parse_toml` says which, and where.
    """
    text = Text(raw, file)
    check_bounds(text, emptied(text.text, _TOKENS))
    try:
        data = tomli.loads(text.text)
    except tomli.TOMLDecodeError:
        raise Refused(()) from None
    if faults := value_faults(data, defaultdict(lambda: Place(file, 1, 1))):
        raise Refused(faults)
    return data


def _parse(source: bytes) -> Tree:
    return Parser(_LANGUAGE).parse(source)


def _walk(text: Text, tree: Tree) -> Walk:
    walk = Walk(text)
    walk.document(tree.root_node)
    return walk


def _mistakes(text: Text, masked: str) -> tuple[list[Fault], str]:
    """Find the usual slips of the pen; return them and the text with each mended, so that other faults still show."""
    commas, percents = list(_COMMA.finditer(masked)), list(_PERCENT.finditer(masked))
    if not commas and not percents:
        return [], text.text
    faults: list[Fault] = []
    chars = list(text.text)
    for match in commas:
        faults.append(decimal_comma(match[1], match[2], text.at(match.start(1))))
        chars[match.end(1)] = "."
    for match in percents:
        faults.append(percent_sign(match[1], text.at(match.start(1)), " = "))
        chars[match.end() - 1] = " "
    return faults, "".join(chars)


def _tree_faults(text: Text, tree: Tree) -> list[Fault]:
    faults: dict[Place, Fault] = {}
    for node in broken_nodes(tree):
        for fault in _node_faults(text, tree, node):
            if fault.place:
                faults.setdefault(fault.place, fault)
            if len(faults) >= MOST_FAULTS:
                return list(faults.values())
    return list(faults.values())


def _node_faults(text: Text, tree: Tree, node: Node) -> list[Fault]:
    first, last = node.start_point.row, node.end_point.row
    source = tree.root_node.text or b""
    lines = source.split(b"\n")[first : last + 1]
    faults = []
    # An ERROR often swallows sound lines after the broken one: each line is asked alone.
    for number, line in enumerate(lines, first + 1):
        alone = _parse(line + b"\n")
        broken = next(broken_nodes(alone), None)
        if broken is not None:
            faults.append(_line_fault(text, number, _column(line, broken)))
        if len(faults) >= MOST_FAULTS:
            break
    if not faults:
        place = text.at_byte(node.start_byte)
        faults.append(_line_fault(text, place.line, place.column))
    return faults


def _column(line: bytes, broken: Node) -> int:
    return len(line[: min(broken.start_byte, len(line))].decode("utf-8", "replace")) + 1


def _line_fault(text: Text, number: int, column: int) -> Fault:
    line = text.line(number)
    if match := _UNQUOTED.match(line):
        place = Place(text.file, number, match.start(1) + 1)
        return Fault(
            "unquoted-text", f"`{match[1]}` without quotes", "text in quotes", place, advice=f'Write "{match[1]}"'
        )
    place, found = Place(text.file, number, column), f"`{snippet(line) or 'end of text'}` cannot be read as TOML"
    try:
        tomli.loads(line)
    except tomli.TOMLDecodeError as error:
        message, at = _message(error)
        place = Place(text.file, number, at[1] if at else len(line) + 1)
        found = f"{found}: {message}"
    advice = 'Use straight quotes: "' if _CURLY.search(line) else ""
    return Fault("syntax", found, "key = value, [table] or [[table]]", place, advice=advice)


def _reader_fault(text: Text, error: tomli.TOMLDecodeError) -> Fault:
    message, at = _message(error)
    place = Place(text.file, *at) if at else text.at(len(text.text))
    return Fault("syntax", f"this cannot be read as TOML: {message}", "key = value, [table] or [[table]]", place)


def _message(error: tomli.TOMLDecodeError) -> tuple[str, tuple[int, int] | None]:
    """What ``tomli`` stumbled over, in our words, and its line and column; None at the end of the text."""
    message = str(error)
    match = _AT.search(message)
    at = (int(match[1]), int(match[2])) if match and match[1] else None
    return next((said for words, said in _STUMBLES if words in message), "it stops being TOML here"), at
