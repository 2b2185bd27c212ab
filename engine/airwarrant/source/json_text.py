"""JSON with positions: the ``json`` module decides what is valid and what it means, the syntax tree where it stands."""

import json
import re
from typing import Any

import tree_sitter_json
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
    innermost,
    mask,
    not_finite,
    percent_sign,
    same_shape,
    snippet,
    value_faults,
)

_LANGUAGE = Language(tree_sitter_json.language())
_TOKENS = re.compile(r'"(?:\\[^\n]|[^"\\\n])*"?')
_COMMA = re.compile(r":\s*(-?\d+),(\d+)\s*(?=[,}\]]|\Z)")
_PERCENT = re.compile(r":\s*(-?\d+(?:[.,]\d+)?)\s*%")
_NOT_FINITE = re.compile(r"(?<![\w\"~-])-?(?:NaN|Infinity)(?![\w\"])")


def parse_json(raw: bytes, file: str) -> tuple[dict[str, Any], dict[Path, Place], dict[Path, Place]]:
    """Return the data, the place of every value and the place of every key; raises as `parse_toml` does."""
    text = Text(raw, file)
    masked = mask(text.text, _TOKENS)
    check_bounds(text, masked)
    faults, repaired = _mistakes(text, masked)
    tree = Parser(_LANGUAGE).parse(repaired.encode())
    if faults or tree.root_node.has_error:
        raise Refused([*faults, *_tree_faults(text, tree)])
    try:
        data = json.loads(text.text)
    except json.JSONDecodeError as error:
        raise Refused([Fault("syntax", "from here on this is no JSON", "JSON", text.at(error.pos))]) from None
    if not isinstance(data, dict):
        raise Refused([Fault("syntax", "no object", "one object: { … }", text.at(0))])
    walk = _Walk(text)
    walk.value(next(node for node in tree.root_node.named_children if node.type == "object"), ())
    if walk.twice:
        raise Refused(walk.twice)
    if not same_shape(data, walk.places):
        raise EngineFault("source-shape", f"{file}: the two JSON readers see different shapes")
    if faults := value_faults(data, walk.places):
        raise Refused(faults)
    return data, walk.places, walk.keys


class _Walk:
    """One pass over a tree without errors; `twice` holds the keys that an object has two times."""

    def __init__(self, text: Text) -> None:
        self._text = text
        self.places: dict[Path, Place] = {}
        self.keys: dict[Path, Place] = {}
        self.twice: list[Fault] = []

    def value(self, node: Node, path: Path) -> None:
        self.places[path] = self._text.at_byte(node.start_byte)
        children = [child for child in node.named_children if child.type != "comment"]
        if node.type == "array":
            for index, child in enumerate(children):
                self.value(child, (*path, index))
        elif node.type == "object":
            for child in children:
                self._pair(child, path)

    def _pair(self, node: Node, base: Path) -> None:
        key, value = [child for child in node.named_children if child.type != "comment"]
        name = json.loads((key.text or b"").decode())
        place = self._text.at_byte(key.start_byte)
        path = (*base, name)
        if path in self.keys:
            advice = f"The first one stands at {self.keys[path]}"
            found = f"`{name}` is written twice"
            self.twice.append(Fault("duplicate-key", found, "each key once", place, ".".join(map(str, path)), advice))
            return
        self.keys[path] = place
        self.value(value, path)


def _mistakes(text: Text, masked: str) -> tuple[list[Fault], str]:
    """Find the usual slips of the pen; return them and the text with each mended, so that other faults still show."""
    faults: list[Fault] = []
    chars = list(text.text)
    for match in _COMMA.finditer(masked):
        faults.append(decimal_comma(match[1], match[2], text.at(match.start(1))))
        chars[match.end(1)] = "."
    for match in _PERCENT.finditer(masked):
        faults.append(percent_sign(match[1], text.at(match.start(1)), ": "))
        chars[match.end() - 1] = " "
    for match in _NOT_FINITE.finditer(masked):
        faults.append(not_finite(match[0], text.at(match.start())))
        chars[match.start() : match.end()] = "0" + " " * (len(match[0]) - 1)
    return faults, "".join(chars)


def _tree_faults(text: Text, tree: Tree) -> list[Fault]:
    faults: dict[Place, Fault] = {}
    for outer in broken_nodes(tree):
        for node in innermost(outer):
            place = text.at_byte(node.start_byte)
            what = snippet((node.text or b"").decode("utf-8", "replace"))
            found = f"`{what}` cannot be read as JSON" if what else "something is missing here"
            allowed = f"`{node.type}`" if node.is_missing else "JSON"
            faults.setdefault(place, Fault("syntax", found, allowed, place))
            if len(faults) >= MOST_FAULTS:
                return list(faults.values())
    return list(faults.values())
