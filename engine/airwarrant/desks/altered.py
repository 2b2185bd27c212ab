"""A record with some things otherwise: what a case changes, adds and leaves out, each part still with its place."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from airwarrant.errors import PolicyError, nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.shape import ITEM_KINDS, VISIT_KINDS
from airwarrant.policy.cases import Case
from airwarrant.policy.faults import Faults
from airwarrant.source.document import Document
from airwarrant.source.place import Place

Path = tuple[str | int, ...]
_BLOCKS = ("house", "old", "new")
_LISTS = ("choice", "override", "visit", "instrument")
_INSTRUMENT = "instrument"
#: What has an id of its own.
_NAMED = (*ITEM_KINDS, _INSTRUMENT)
_SINGLE = ("note", "demo", "units")


def altered(base: Document, case: Case) -> Document:
    """Return the text of a record as a case wants it.

    A path names an item by its id, and a visit by its kind: ``room.bed-2.area``, ``visit.test-in.return_static``. A reading
    without its visit is one of the newest visit on the old unit; left out, it is left out of every visit.

    Raises
    ------
    PolicyError
        With every path that leads nowhere, each at its place in the case.
    """
    faults = Faults()
    record = _Record(_grown(base, (), base.data), faults)
    for path in case.without:
        record.leave_out(path, case.document.place((*case.path, "without")))
    record.add(_Given(case.document, (*case.path, "add"), case.add))
    record.change(_Given(case.document, (*case.path, "change"), case.change))
    if faults:
        raise PolicyError(faults)
    places: dict[Path, Place] = {}
    keys: dict[Path, Place] = {}
    data = _flat(record.root, (), places, keys)
    return Document(base.file, data, places, keys)


@dataclass(slots=True)
class _Node:
    """A part of a record: a block, a list or one value."""

    value: Any
    place: Place
    key: Place


@dataclass(frozen=True, slots=True)
class _Given:
    """A part of a case, with where it stands."""

    document: Document
    path: Path
    value: Any

    @property
    def place(self) -> Place:
        return self.document.key_place(self.path)

    def parts(self) -> Iterator[tuple[str, "_Given"]]:
        for key, value in self.value.items():
            yield key, _Given(self.document, (*self.path, key), value)

    def node(self) -> _Node:
        return _grown(self.document, self.path, self.value)


class _Record:
    """A record's tree under change."""

    def __init__(self, root: _Node, faults: Faults) -> None:
        self.root = root
        self._faults = faults

    # -------------------------------------------------------------- change

    def change(self, given: _Given) -> None:
        for head, part in given.parts():
            if head == "market":
                self._faults.note("unknown-key", "`market`", "`market` of the case itself", place=part.place)
            elif head in _SINGLE:
                self.root.value[head] = part.node()
            elif self._is_block(part):
                if head == "dates":
                    self._set_all(self._block(self.root, head, part), part)
                elif head in _BLOCKS:
                    self._change_block(head, part)
                elif head == "visit":
                    self._change_visits(part)
                elif head in _NAMED:
                    for key, fields in part.parts():
                        item = self._item(head, key)
                        if item is None:
                            self._lost(fields, f"the record has no {head} `{key}`", self._ids(head), key)
                        elif self._is_block(fields):
                            self._set_item(head, key, item, fields)
                else:
                    self._unknown_head(head, part)

    def _change_block(self, head: str, given: _Given) -> None:
        block = self._block(self.root, head, given)
        for key, part in given.parts():
            if head == "house" and key in _visit_keys(HOUSE_KEY):
                visit = self._newest(part)
                if visit is not None:
                    visit.value[key] = part.node()
            elif key == "blower" and isinstance(part.value, dict):
                self._set_all(self._block(block, key, part), part)
            else:
                block.value[key] = part.node()

    def _change_visits(self, given: _Given) -> None:
        for kind, part in given.parts():
            visit = self._visit(kind)
            if visit is None:
                self._lost(part, f"the record has no visit `{kind}`", self._visit_kinds(), kind)
                continue
            for key, inner in part.parts() if self._is_block(part) else ():
                if key not in ITEM_KINDS:
                    visit.value[key] = inner.node()
                    continue
                for item, fields in inner.parts() if self._is_block(inner) else ():
                    if self._item(key, item) is None:
                        self._lost(fields, f"the record has no {key} `{item}`", self._ids(key), item)
                    elif self._is_block(fields):
                        self._set_all(self._read_block(visit, key, item, fields), fields)

    def _set_item(self, kind: str, key: str, item: _Node, given: _Given) -> None:
        for name, part in given.parts():
            if name in _visit_keys(kind):
                visit = self._newest(part)
                if visit is not None:
                    self._read_block(visit, kind, key, part).value[name] = part.node()
            else:
                item.value[name] = part.node()

    # -------------------------------------------------------------- add

    def add(self, given: _Given) -> None:
        for head, part in given.parts():
            if head in _LISTS and not (head == _INSTRUMENT and isinstance(part.value, dict)):
                node = part.node()
                if not isinstance(node.value, list):
                    self._faults.note(
                        "wrong-type", f"`{head}` is one block", f"a list: {head} = [{{ … }}]", place=part.place
                    )
                    continue
                self._list(self.root, head, part).value.extend(node.value)
            elif head not in _NAMED:
                known = tuple(dict.fromkeys((*_NAMED, *_LISTS)))
                self._lost(part, f"`{head}` cannot be added", known, head)
            elif self._is_block(part):
                for key, fields in part.parts():
                    if self._item(head, key) is not None:
                        self._faults.note(
                            "already-there", f"the record has the {head} `{key}`", "`change`", place=fields.place
                        )
                    elif self._is_block(fields):
                        item = _Node({"id": _Node(key, fields.place, fields.place)}, fields.place, fields.place)
                        self._list(self.root, head, part).value.append(item)
                        self._set_item(head, key, item, fields)

    # -------------------------------------------------------------- without

    def leave_out(self, path: str, at: Place) -> None:
        """Leave out one part; a reading that names no visit is left out of every one."""
        head, *rest = path.split(".")
        gone = False
        if head == "visit" and rest:
            gone = self._leave_out_of_visit(rest)
        elif head in _NAMED and not rest:
            gone = self.root.value.pop(head, None) is not None
            for visit in self._visits():
                gone |= visit.value.pop(head, None) is not None
        elif head in _NAMED and len(rest) == 1:
            gone = self._drop(self.root, head, rest[0])
            for visit in self._visits():
                gone |= self._drop(visit, head, rest[0])
        elif head in _NAMED and len(rest) == 2:
            item = self._item(head, rest[0])
            gone = item is not None and item.value.pop(rest[1], None) is not None
            for visit in self._visits():
                block = _named(visit, head, rest[0])
                gone |= block is not None and block.value.pop(rest[1], None) is not None
        elif rest:
            block, name = _walk(self.root, (head, *rest[:-1])), rest[-1]
            gone = block is not None and block.value.pop(name, None) is not None
            if head == "house" and len(rest) == 1 and name in _visit_keys(HOUSE_KEY):
                for visit in self._visits():
                    gone |= visit.value.pop(name, None) is not None
        elif head not in ("format", "id", "market"):
            gone = self.root.value.pop(head, None) is not None
        if not gone:
            self._faults.note("not-there", f"the record has no `{path}` to leave out", "a path of the record", place=at)

    def _leave_out_of_visit(self, rest: list[str]) -> bool:
        visit = self._visit(rest[0])
        if visit is None:
            return False
        if len(rest) == 1:
            self.root.value["visit"].value.remove(visit)
            return True
        if len(rest) == 2:
            return visit.value.pop(rest[1], None) is not None
        if len(rest) == 3:
            return self._drop(visit, rest[1], rest[2])
        block = _named(visit, rest[1], rest[2])
        return block is not None and block.value.pop(rest[3], None) is not None

    # -------------------------------------------------------------- parts of the tree

    def _block(self, around: _Node, name: str, given: _Given) -> _Node:
        block: _Node = around.value.setdefault(name, _Node({}, given.place, given.place))
        return block

    def _list(self, around: _Node, name: str, given: _Given) -> _Node:
        found: _Node = around.value.setdefault(name, _Node([], given.place, given.place))
        return found

    def _read_block(self, visit: _Node, kind: str, key: str, given: _Given) -> _Node:
        """A visit's readings of one item."""
        found = _named(visit, kind, key)
        if found is None:
            found = _Node({"id": _Node(key, given.place, given.place)}, given.place, given.place)
            self._list(visit, kind, given).value.append(found)
        return found

    def _set_all(self, block: _Node, given: _Given) -> None:
        for key, part in given.parts():
            block.value[key] = part.node()

    def _item(self, kind: str, key: str) -> _Node | None:
        return _named(self.root, kind, key)

    def _ids(self, kind: str) -> tuple[str, ...]:
        return tuple(_text(item, "id") for item in _items(self.root, kind))

    def _visits(self) -> list[_Node]:
        return _items(self.root, "visit")

    def _visit(self, kind: str) -> _Node | None:
        return next((visit for visit in reversed(self._visits()) if _text(visit, "kind") == kind), None)

    def _visit_kinds(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(_text(visit, "kind") for visit in self._visits()))

    def _newest(self, given: _Given) -> _Node | None:
        """The visit whose readings are the newest found."""
        found = [v for v in self._visits() if _text(v, "unit") == "old" and _text(v, "kind") != VISIT_KINDS[-1]]
        if not found:
            self._faults.note("not-there", "the record has no visit on the old unit", "`add` one", place=given.place)
            return None
        return found[-1]

    def _drop(self, around: _Node, kind: str, key: str) -> bool:
        held = around.value.get(kind)
        if held is None or not isinstance(held.value, list):
            return False
        kept = [item for item in held.value if _text(item, "id") != key]
        gone = len(kept) < len(held.value)
        if kept:
            held.value[:] = kept
        else:
            del around.value[kind]
        return gone

    # -------------------------------------------------------------- faults

    def _is_block(self, given: _Given) -> bool:
        if isinstance(given.value, dict):
            return True
        self._faults.note("wrong-type", "one value", "a block, or a longer path", place=given.place)
        return False

    def _lost(self, given: _Given, found: str, known: tuple[str, ...], name: str) -> None:
        self._faults.note("not-there", found, ", ".join(known), place=given.place, advice=nearest(name, known))

    def _unknown_head(self, head: str, given: _Given) -> None:
        known = (*_BLOCKS, "visit", "dates", *_NAMED, *_SINGLE)
        self._lost(given, f"`{head}` is no part of a record that a case can change", known, head)


def _grown(document: Document, path: Path, value: Any) -> _Node:
    if isinstance(value, dict):
        inner: Any = {key: _grown(document, (*path, key), held) for key, held in value.items()}
    elif isinstance(value, list):
        inner = [_grown(document, (*path, number), held) for number, held in enumerate(value)]
    else:
        inner = value
    return _Node(inner, document.place(path), document.key_place(path))


def _flat(node: _Node, path: Path, places: dict[Path, Place], keys: dict[Path, Place]) -> Any:
    places[path], keys[path] = node.place, node.key
    if isinstance(node.value, dict):
        return {key: _flat(held, (*path, key), places, keys) for key, held in node.value.items()}
    if isinstance(node.value, list):
        return [_flat(held, (*path, number), places, keys) for number, held in enumerate(node.value)]
    return node.value


def _items(around: _Node, kind: str) -> list[_Node]:
    held = around.value.get(kind)
    return held.value if held is not None and isinstance(held.value, list) else []


def _named(around: _Node, kind: str, key: str) -> _Node | None:
    return next((item for item in _items(around, kind) if _text(item, "id") == key), None)


def _walk(node: _Node, path: tuple[str, ...]) -> _Node | None:
    for part in path:
        if not isinstance(node.value, dict) or part not in node.value:
            return None
        node = node.value[part]
    return node if isinstance(node.value, dict) else None


def _text(node: _Node, key: str) -> str:
    held = node.value.get(key) if isinstance(node.value, dict) else None
    return str(held.value) if held is not None else ""


def _visit_keys(kind: str) -> frozenset[str]:
    if kind not in KINDS:
        return frozenset()
    return frozenset(f.key or f.name for f in KINDS[kind].fields.values() if f.section == "visit")
