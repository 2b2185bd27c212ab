"""Places of every value and key in a TOML syntax tree, and keys that are written twice."""

import tomli
from tree_sitter import Node

from airwarrant.errors import Fault
from airwarrant.source.place import Place
from airwarrant.source.syntax import Path, Text

_KEYS = ("bare_key", "quoted_key", "dotted_key")


class Walk:
    """One pass over a tree without errors.

    Attributes
    ----------
    places, keys : dict
        Path -> place of the value; path -> place of the key.
    twice : list of Fault
        Keys and tables written a second time. Only meaningful if ``tomli`` refuses the text.
    """

    def __init__(self, text: Text) -> None:
        self._text = text
        self.places: dict[Path, Place] = {(): Place(text.file, 1, 1)}
        self.keys: dict[Path, Place] = {}
        self.twice: list[Fault] = []
        self._counts: dict[Path, int] = {}
        self._headers: dict[Path, Place] = {}
        self._values: set[Path] = set()

    def document(self, root: Node) -> None:
        """Walk the whole file."""
        for node in root.named_children:
            if node.type == "pair":
                self._pair(node, ())
            elif node.type in ("table", "table_array_element"):
                self._table(node, node.type == "table_array_element")

    def _table(self, node: Node, element: bool) -> None:
        key, *pairs = [child for child in node.named_children if child.type != "comment"]
        parts = self._parts(key)
        here = self._text.at_byte(node.start_byte)
        base: Path = ()
        for name, place in parts[:-1]:
            base = self._inside((*base, name))
            self.places.setdefault(base, here)
            self.keys.setdefault(base, place)
        name, place = parts[-1]
        path: Path = (*base, name)
        if element:
            if path in self._headers or path in self._values or (path in self.places and path not in self._counts):
                self._twice(path, place, "already there and is not an array of tables")
            self._counts[path] = self._counts.get(path, 0) + 1
            self.places.setdefault(path, here)
            self.keys.setdefault(path, place)
            path = (*path, self._counts[path] - 1)
        elif path in self._headers or path in self._values or path in self._counts:
            self._twice(path, place, "written twice")
        else:
            self._headers[path] = here
        self.places[path] = here
        self.keys[path] = place
        for pair in pairs:
            self._pair(pair, path)

    def _inside(self, path: Path) -> Path:
        """The table that later headers under `path` go into: the newest element if it is an array of tables."""
        return (*path, self._counts[path] - 1) if path in self._counts else path

    def _pair(self, node: Node, base: Path) -> None:
        key, value = [child for child in node.named_children if child.type != "comment"]
        parts = self._parts(key)
        path = base
        for name, place in parts[:-1]:
            path = (*path, name)
            if path in self._values:
                self._twice(path, place, "already a value and cannot hold keys")
            self.places.setdefault(path, place)
            self.keys.setdefault(path, place)
        name, place = parts[-1]
        path = (*path, name)
        if path in self.places:
            self._twice(path, place, "written twice")
        self._values.add(path)
        self.keys.setdefault(path, place)
        self._value(value, path)

    def _value(self, node: Node, path: Path) -> None:
        self.places.setdefault(path, self._text.at_byte(node.start_byte))
        kind = node.type
        if kind not in ("array", "inline_table"):
            return
        children = [child for child in node.named_children if child.type != "comment"]
        if kind == "array":
            for index, child in enumerate(children):
                self._value(child, (*path, index))
        else:
            for child in children:
                self._pair(child, path)

    def _parts(self, node: Node) -> list[tuple[str, Place]]:
        kind, start = node.type, node.start_byte
        if kind == "dotted_key":
            return [part for child in node.named_children if child.type in _KEYS for part in self._parts(child)]
        source = self._text.bytes[start : node.end_byte].decode()
        if kind == "quoted_key":
            source = next(iter(tomli.loads(f"{source} = 0")))
        return [(source, self._text.at_byte(start))]

    def _twice(self, path: Path, place: Place, what: str) -> None:
        first = self._headers.get(path) or self.keys.get(path) or self.places[path]
        dotted = ".".join(map(str, path))
        advice = f"The first one stands at {first}"
        self.twice.append(Fault("duplicate-key", f"`{path[-1]}` is {what}", "each key once", place, dotted, advice))
