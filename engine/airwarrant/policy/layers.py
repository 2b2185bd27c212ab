"""Layers put together value by value: each key remembers where it was set and everything it overrode."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from pydantic import ValidationError

from airwarrant.errors import PolicyError, nearest
from airwarrant.policy.faults import Faults, shape_faults, words
from airwarrant.policy.files import SourceFile
from airwarrant.policy.model import Overridden, Sourced
from airwarrant.policy.shape import PolicyFile
from airwarrant.source.document import Document, read_toml
from airwarrant.source.place import Place

STEPS = (
    "size_of",
    "larger_of",
    "smaller_of",
    "largest_known_of",
    "first_known_of",
    "ratio_of",
    "sum_of",
    "difference_of",
    "gap_between",
    "product_of",
    "share_of",
    "sum_over",
)
LIMITS = ("limit", "strictest_limit", "loosest_limit")
SECTIONS = (
    "parameter",
    "table",
    "figure",
    "check",
    "rule",
    "task",
    "said",
    "crew",
    "item",
    "factor",
    "price",
    "charge",
)
_BY_ID = ("check", "rule")
#: What a new block must have; a group of alternatives is one entry.
_REQUIRED: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "parameter": (("value",), ("unit",), ("title",), ("edit",), ("basis",)),
    "table": (("by",), ("unit",), ("rows",), ("title",), ("edit",), ("basis",)),
    "figure": (("title",), ("each",), ("unit",), STEPS),
    "check": (("title",), ("each",), ("reading",), ("must_be",), LIMITS),
    "rule": (("title",), ("stage",), ("then",)),
    "task": (("title",),),
    "said": (("en", "es"),),
    "crew": (("title",), ("people",), ("wage",), ("edit",), ("basis",)),
    "item": (("title",), ("per",), ("cost", "by_size"), ("edit",), ("basis",)),
    "factor": (("title",), ("value",), ("edit",), ("basis",)),
    "price": (("hours",), ("crew",), ("edit",), ("basis",)),
    "charge": (("title",), ("kind",), ("edit",), ("basis",)),
}
#: Keys of which a block has one: a new one takes the place of whichever stood there.
_ALTERNATIVES: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "figure": (STEPS,),
    "check": (LIMITS,),
    "item": (("cost", "by_size"),),
}


@dataclass(frozen=True, slots=True)
class Key:
    """A value in force, with the document and path it stands at so that each part of it has a place."""

    value: Any
    layer: str
    document: Document
    path: tuple[str | int, ...]
    overrode: tuple[Overridden, ...] = ()

    @property
    def place(self) -> Place:
        return self.document.place(self.path)

    def at(self, *deeper: str | int) -> Place:
        return self.document.place((*self.path, *deeper))

    def sourced(self) -> Sourced:
        return Sourced(self.value, self.layer, self.place, self.overrode)


@dataclass(frozen=True, slots=True)
class Block:
    """A named block; `place` and `layer` are those of its first, full definition."""

    section: str
    name: str
    layer: str
    place: Place
    keys: Mapping[str, Key]

    def get(self, key: str, default: Any = None) -> Any:
        return self.keys[key].value if key in self.keys else default

    def at(self, key: str, *deeper: str | int) -> Place:
        return self.keys[key].at(*deeper) if key in self.keys else self.place

    def sourced(self) -> dict[str, Sourced]:
        return {name: self.keys[name].sourced() for name in sorted(self.keys)}


@dataclass(frozen=True, slots=True)
class Change:
    """A later layer changed keys of a block, or took the block out (`given` is empty and `removed` says where)."""

    before: Block
    after: Block
    given: Mapping[str, Key]
    removed: Place | None = None
    file_layer: str = ""


@dataclass(slots=True)
class Layered:
    """Everything the layers say, before names are resolved.

    `broken` holds the names of blocks that were left out because of a fault of their own: they are not unknown.
    """

    blocks: dict[str, dict[str, Block]] = field(default_factory=lambda: {section: {} for section in SECTIONS})
    changes: list[Change] = field(default_factory=list)
    reviews: list[tuple[Place, date]] = field(default_factory=list)
    broken: set[str] = field(default_factory=set)
    broken_rules: bool = False

    def may_be(self, name: str) -> bool:
        """Whether a name that is not found may belong to a block or file that was passed over."""
        return name in self.broken or "*" in self.broken


def read_layers(files: Iterable[SourceFile], faults: Faults, read: dict[SourceFile, Document] | None = None) -> Layered:
    """Read files in the order in which they apply and put them together.

    A file that is no TOML, and a block of a wrong shape, leave their faults and are passed over, so that one run
    tells of every fault. Policies that are composed one after the other may share `read`: a file without a fault is
    then read once.
    """
    kept: dict[SourceFile, Document] = {} if read is None else read
    layered = Layered()
    folders: dict[tuple[str, str], list[Document]] = {}
    for file in files:
        documents = folders.setdefault((file.layer, file.effective), [])
        if file in kept:
            documents.append(kept[file])
            continue
        before = len(faults)
        try:
            document = read_toml(file.text, file.file, error=PolicyError)
        except PolicyError as error:
            faults += error.faults
            layered.broken_rules = True
            layered.broken.add("*")
            continue
        _drop_broken(document, layered, faults)
        documents.append(document)
        if len(faults) == before:
            kept[file] = document
    first = True
    for (layer, _), documents in folders.items():
        _apply(layered, layer, documents, first, faults)
        first = False
    return layered


def _drop_broken(document: Document, layered: Layered, faults: Faults) -> None:
    """Note the faults of a file's shape and take the blocks they stand in out of its data."""
    try:
        PolicyFile.model_validate(document.data)
        return
    except ValidationError as error:
        found = shape_faults(error, document, PolicyFile)
    faults += (fault for _, fault in found)
    for section, name in sorted({path[:2] for path, _ in found if len(path) >= 2}, key=str, reverse=True):
        held = document.data.get(str(section))
        if isinstance(held, dict) and name in held:
            layered.broken.add(str(name))
            del held[str(name)]
        elif isinstance(held, list) and isinstance(name, int) and name < len(held):
            block = held[name]
            if isinstance(block, dict) and isinstance(block.get("id"), str):
                layered.broken.add(block["id"])
            held[name] = None
        layered.broken_rules |= section == "rule"
    for section in {path[0] for path, _ in found if len(path) == 1}:
        document.data.pop(str(section), None)
        if section in SECTIONS:
            layered.broken.add("*")
            layered.broken_rules = True


def _apply(layered: Layered, layer: str, documents: list[Document], first: bool, faults: Faults) -> None:
    for document in documents:
        head = document.data.get("policy", {})
        if "review_by" in head:
            layered.reviews.append((document.place(("policy", "review_by")), head["review_by"]))
        _remove(layered, layer, document, faults)
    seen: dict[tuple[str, str], Place] = {}
    for document in documents:
        for section in SECTIONS:
            for name, path, given in _given(document, section, layer):
                place = document.place(path)
                if (section, name) in seen:
                    faults.note(
                        "duplicate-id",
                        f"the {section} `{name}` stands twice in one dated folder, also at {seen[section, name]}",
                        "one block a name",
                        place=place,
                    )
                    continue
                seen[section, name] = place
                _lay(layered, section, name, layer, place, given, first, faults)


def _given(document: Document, section: str, layer: str) -> Iterable[tuple[str, tuple[str | int, ...], dict[str, Key]]]:
    held = document.data.get(section, {})
    entries = enumerate(held) if section in _BY_ID else held.items()
    for position, block in entries:
        if block is None:
            continue
        path = (section, position)
        name = str(block["id"]) if section in _BY_ID else str(position)
        keys = {k: Key(v, layer, document, (*path, k)) for k, v in block.items() if k != "id"}
        yield name, path, keys


def _lay(
    layered: Layered,
    section: str,
    name: str,
    layer: str,
    place: Place,
    given: dict[str, Key],
    first: bool,
    faults: Faults,
) -> None:
    blocks = layered.blocks[section]
    before = blocks.get(name)
    if before is None:
        missing = [" or ".join(group) for group in _REQUIRED[section] if not any(key in given for key in group)]
        if missing:
            layered.broken.add(name)
            advice = "" if first else nearest(name, blocks)
            code = "missing-key" if first else "unknown-name"
            found = "is incomplete" if first else "is known to no earlier layer"
            faults.note(
                code,
                f"the {section} `{name}` {found}",
                f"a new {section} also has {words(missing)}",
                place=place,
                advice=advice,
            )
            return
        _one_alternative(section, name, given, faults)
        blocks[name] = Block(section, name, layer, place, given)
        return
    _one_alternative(section, name, given, faults)
    keys = dict(before.keys)
    for key, new in given.items():
        replaced = [key, *(other for group in _ALTERNATIVES.get(section, ()) if key in group for other in group)]
        old = [
            keys.pop(other)
            for other in dict.fromkeys(replaced)
            if other in keys and (other == key or other not in given)
        ]
        history = tuple(o for k in old for o in (*k.overrode, Overridden(k.value, k.layer, k.place)))
        keys[key] = Key(new.value, layer, new.document, new.path, history)
    if "take" in keys and "sum_over" not in keys:
        del keys["take"]
    after = Block(section, name, before.layer, before.place, keys)
    blocks[name] = after
    layered.changes.append(Change(before, after, given, file_layer=layer))


def _one_alternative(section: str, name: str, given: Mapping[str, Key], faults: Faults) -> None:
    for group in _ALTERNATIVES.get(section, ()):
        held = [key for key in group if key in given]
        for extra in held[1:]:
            faults.note(
                "two-alternatives",
                f"the {section} `{name}` has both `{held[0]}` and `{extra}`",
                "one of them",
                place=given[extra].place,
            )


def _remove(layered: Layered, layer: str, document: Document, faults: Faults) -> None:
    for index, entry in enumerate(document.data.get("remove", [])):
        if entry is None:
            continue
        section, name = str(entry["name"]).split(":", 1)
        place = document.place(("remove", index, "name"))
        before = layered.blocks[section].pop(name, None)
        if before is None and layered.may_be(name):
            continue
        if before is None:
            faults.note(
                "unknown-name",
                f"there is no {section} `{name}` in an earlier layer to take out",
                place=place,
                advice=nearest(name, layered.blocks[section]),
            )
            continue
        layered.changes.append(Change(before, before, {}, removed=place, file_layer=layer))
