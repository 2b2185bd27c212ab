"""Every value of the shipped policy layers, and what each becomes when it is changed by itself.

A value is what decides, sizes, predicts or prices. Wording, sources, units, names and the right to edit are none and are left out:
a title may be put otherwise without any answer being another.
"""

from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from airwarrant.errors import PolicyError
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.files import layer_files, layer_names
from airwarrant.policy.model import AUTHORITIES, TIERS, Change, Governs, Time, Word
from airwarrant.policy.price_shape import ChargeKind
from airwarrant.policy.rule_shape import When
from airwarrant.source.document import Document, read_toml
from airwarrant.source.place import Place

Path_ = tuple[str | int, ...]

#: Keys that hold no value: wording, where it is from, who may change it, what it is called.
_NO_VALUE = frozenset(
    {
        "title", "note", "basis", "edit", "safer", "unit", "by_unit", "size_unit", "of_title", "review_by", "id", "why", "how",
        "because", "until", "choices", "if_unknown", "if_zero", "show", "named", "each", "by", "over", "per", "stage",
    }
)  # fmt: skip
_SECTIONS = ("parameter", "table", "figure", "check", "rule", "task", "crew", "item", "factor", "price", "charge")
#: Words of a key that stand for one another; the first that is another takes the place.
_WORDS: Mapping[str, tuple[str, ...]] = {
    "between": ("next-row", "last-row-at-or-below", "no-answer"),
    "below_first": ("first-row", "no-answer"),
    "above_last": ("last-row", "no-answer"),
    "must_be": ("at most", "at least", "below", "above"),
    "doubt": ("retest", "against", "ignore"),
    "needs": ("measured", "table", "stated", "assumed"),
    "retest_when": get_args(When),
    "authority": AUTHORITIES,
    "tier": TIERS,
    "tiers": TIERS,
    "time": get_args(Time),
    "is": get_args(Word),
    "when": get_args(When),
    "changes": get_args(Change),
    "governs": get_args(Governs),
    "past_most": ("several", "stop"),
    "kind": get_args(ChargeKind),
}
_OPPOSITE = {"at most": "at least", "at least": "at most", "below": "above", "above": "below"}
#: Keys of which a block has one; a mutant has another.
_KEYS: Mapping[str, str] = {
    "larger_of": "smaller_of", "smaller_of": "larger_of", "largest_known_of": "first_known_of", "first_known_of": "largest_known_of",
    "ratio_of": "share_of", "share_of": "ratio_of", "sum_of": "difference_of", "difference_of": "sum_of",
    "gap_between": "difference_of", "product_of": "sum_of", "strictest_limit": "loosest_limit", "loosest_limit": "strictest_limit",
    "some": "none", "every": "some", "none": "some",
}  # fmt: skip
#: Numbers that count things go one up and one down.
_COUNTS = frozenset({"rounds_most", "people", "months"})


@dataclass(frozen=True, slots=True)
class Mutant:
    """One value changed.

    Attributes
    ----------
    layer, file : str
    section, name : str
        The block: ``parameter`` and its name, ``rule`` and its id.
    path : tuple
        Where in the file's data the value stands; with `key` the key there is another instead.
    was, now : object
    kind : str
        What sort of value it is, for the table of what went unnoticed.
    """

    layer: str
    file: str
    section: str
    name: str
    path: Path_
    was: Any
    now: Any
    kind: str
    place: Place
    key: bool = False

    @property
    def value(self) -> str:
        """The value's own name, which an added line above it does not change."""
        return f"{self.layer}:{self.section}:{self.name}:{'.'.join(map(str, self.path[2:]))}"

    @property
    def id(self) -> str:
        return f"{self.value}={self.now}"

    def __str__(self) -> str:
        inside = ".".join(map(str, self.path[2:]))
        return f"{self.place}: {self.section} {self.name} {inside}: {self.was!r} -> {self.now!r}"

    def data(self, document: Document) -> dict[str, Any]:
        """The file's data with the value changed."""
        data = deepcopy(document.data)
        held: Any = data
        for step in self.path[:-1]:
            held = held[step]
        last = self.path[-1]
        if self.key:
            value = held.pop(last)
            held[self.now] = value
        else:
            held[last] = self.now
        return data


@dataclass(frozen=True, slots=True)
class Source:
    """A file of a layer, read."""

    layer: str
    file: str
    text: bytes
    document: Document


def sources(root: Path) -> tuple[Source, ...]:
    """Read every file of every layer."""
    return tuple(
        Source(layer, one.file, one.text, read_toml(one.text, one.file, error=PolicyError))
        for layer in layer_names((root,))
        for one in layer_files(root, layer)
    )


def all_mutants(files: tuple[Source, ...]) -> tuple[Mutant, ...]:
    """Return every mutant, in the order of files and places."""
    names = _Names(files)
    return tuple(mutant for source in files for mutant in _of_file(source, names))


class _Names:
    """What a word of a policy may be instead: other tasks, parameters of the same unit, and so on."""

    def __init__(self, files: tuple[Source, ...]) -> None:
        self.units: dict[str, str] = {}
        self.names: dict[str, list[str]] = {section: [] for section in _SECTIONS}
        self.tables_by: dict[str, str] = {}
        self.each: dict[str, str] = {}
        for source in files:
            for section in _SECTIONS:
                for name, block, _ in _blocks(source, section):
                    if name not in self.names[section]:
                        self.names[section].append(name)
                    if section in ("parameter", "table", "figure"):
                        self.units.setdefault(name, block.get("unit", ""))
                    if section == "table":
                        self.tables_by.setdefault(name, block.get("by", ""))
                    if "each" in block:
                        self.each.setdefault(name, block["each"])

    def other(self, section: str, name: str) -> str | None:
        held = self.names[section]
        return _next(held, name) if name in held else None

    def reference(self, ref: str, kind: str) -> str | None:
        """Another reference of the same sort and unit."""
        if ref.startswith("@"):
            name = ref[1:]
            section = "table" if name in self.tables_by else "parameter"
            alike = [n for n in self.names[section] if self.units.get(n) == self.units.get(name)]
            if section == "table":
                alike = [n for n in alike if self.tables_by[n] == self.tables_by[name]]
            found = _next(alike, name) if name in alike else None
            return f"@{found}" if found else None
        prefix, _, name = ref.rpartition("house.")
        owner = HOUSE_KEY if prefix or ref.startswith("house.") else kind
        name = name if ref.startswith("house.") else ref
        fields = KINDS[owner].fields if owner in KINDS else {}
        if name in fields:
            alike = [n for n, f in fields.items() if (f.form, f.unit) == (fields[name].form, fields[name].unit)]
        else:
            alike = [
                n
                for n in self.names["figure"]
                if self.units[n] == self.units.get(name) and self.each[n] == self.each.get(name)
            ]
        found = _next(alike, name) if name in alike else None
        return (f"house.{found}" if ref.startswith("house.") else found) if found else None


def _next(held: Any, one: Any) -> Any:
    """The one after it, round the end; None where there is no other."""
    held = list(held)
    other = held[(held.index(one) + 1) % len(held)]
    return None if other == one else other


def _blocks(source: Source, section: str) -> Iterator[tuple[str, dict[str, Any], Path_]]:
    held = source.document.data.get(section, {})
    if isinstance(held, list):
        yield from ((block["id"], block, (section, index)) for index, block in enumerate(held))
    else:
        yield from ((name, block, (section, name)) for name, block in held.items())


def _of_file(source: Source, names: _Names) -> Iterator[Mutant]:
    for section in _SECTIONS:
        for name, block, path in _blocks(source, section):
            each = block.get("each") or names.each.get(name, HOUSE_KEY)
            for at, was, now, kind, key in _of_block(section, name, block, each, names):
                whole = (*path, *at)
                place = source.document.place(whole)
                yield Mutant(source.layer, source.file, section, name, whole, was, now, kind, place, key)


Changed = tuple[Path_, Any, Any, str, bool]


def _of_block(section: str, name: str, block: dict[str, Any], each: str, names: _Names) -> Iterator[Changed]:
    by = block.get("by", names.tables_by.get(name, ""))
    for key, value in block.items():
        if key in _NO_VALUE or (key == "of" and section == "parameter"):
            continue
        if section == "table" and key == "rows":
            yield from _of_rows(name, by, value)
        else:
            yield from _of_key(section, name, (key,), value, each, names)


def _of_rows(name: str, by: str, rows: list[list[Any]]) -> Iterator[Changed]:
    keys = [row[0] for row in rows]
    counts = name.endswith("_count")
    for index, (key, answer) in enumerate(rows):
        if isinstance(key, str):
            other = next((word for word in _words_by(by) if word not in keys and word != "unknown"), None)
            if other is not None:
                yield ("rows", index, 0), key, other, "table key", False
            elif len(rows) > 1 and rows[(index + 1) % len(rows)][1] != answer:
                # Every word has its row: two rows change places.
                yield ("rows", index), [key, answer], [key, rows[(index + 1) % len(rows)][1]], "table key", False
        else:
            yield from ((("rows", index, 0), key, other, "table key", False) for other in _numbers(key, counts=False))
        yield from (
            (("rows", index, 1), answer, other, "table answer", False) for other in _numbers(answer, counts=counts)
        )


def _words_by(by: str) -> Iterator[str]:
    if by == "reading":
        yield from (n for kind in KINDS.values() for n, f in kind.fields.items() if f.form in ("reading", "number"))
    for kind in KINDS.values():
        if by in kind.fields:
            yield from kind.fields[by].words


def _numbers(value: float, *, counts: bool) -> Iterator[float]:
    if counts:
        yield from (value + 1, value - 1)
    elif value:
        up, down = value * 1.1, value * 0.9
        yield from (float(f"{up:.10g}"), float(f"{down:.10g}"))


def _quantity(text: str) -> Iterator[str]:
    """A number with its unit, such as ``400 cfm/ton``, a tenth up and down."""
    number, _, unit = text.partition(" ")
    try:
        value = float(number)
    except ValueError:
        return
    for other in _numbers(value, counts=unit == "1" and value.is_integer()):
        yield f"{other:g} {unit}"


def _of_key(section: str, name: str, path: Path_, value: Any, each: str, names: _Names) -> Iterator[Changed]:
    key = next(step for step in reversed(path) if isinstance(step, str))
    kind = _kind(section, path)
    if isinstance(value, bool):
        yield path, value, not value, kind, False
    elif isinstance(value, int | float):
        counts = key in _COUNTS or name in _COUNTS
        others = _numbers(value, counts=counts)
        if key == "months":
            others = iter([value % 12 + 1])
        yield from ((path, value, other, kind, False) for other in others)
    elif isinstance(value, str):
        yield from (
            (path, value, other, kind, False) for other in _other_word(section, name, path, key, value, each, names)
        )
    elif isinstance(value, dict):
        for inner, held in value.items():
            if inner in _NO_VALUE and not _in_where(path):
                continue
            if inner in _KEYS and not _in_where(path):
                yield (*path, inner), inner, _KEYS[inner], kind, True
            yield from _of_key(section, name, (*path, inner), held, each, names)
    elif isinstance(value, list):
        if len(path) == 1 and key in _KEYS:
            yield path, key, _KEYS[key], kind, True
        for index, held in enumerate(value):
            yield from _of_key(section, name, (*path, index), held, each, names)


def _in_where(path: Path_) -> bool:
    return "where" in path or "fact" in path or "with" in path


def _kind(section: str, path: Path_) -> str:
    if section == "rule":
        return "rule conclusion" if path[0] == "then" else "rule clause" if path[0] != "authority" else "rule authority"
    if section == "check":
        return "check limit" if "limit" in str(path[0]) or path[0] == "times" else f"check {path[0]}"
    if section == "task":
        return "task size" if path[0] == "size" else "task " + str(path[0])
    if section == "table" and path[0] == "beside":
        return "table beside"
    return f"{section} {path[0]}" if section in ("parameter", "figure", "table") else f"price book: {section}"


def _other_word(section: str, name: str, path: Path_, key: str, value: str, each: str, names: _Names) -> Iterator[str]:
    if quantities := list(_quantity(value)):
        yield from quantities
        return
    other: str | None = None
    outer = next((step for step in reversed(path[:-1]) if isinstance(step, str)), "")
    if "where" in path or ("fact" in path and key not in ("fact", "same")):
        other = _other_of_field(key, value)
    elif outer == "same":
        other = None
    elif key in ("must_be",):
        other = _OPPOSITE[value]
    elif section == "rule" and key in ("check", "finding", "line", "carried", "target", "stop", "caution", "hold", "decline", "retest",
                                       "lift", "for", "some", "every", "none", "fact", "at", "of"):  # fmt: skip
        # What a rule speaks of; it is held to that by each case that names the rule.
        other = None
    elif section in ("check", "figure") and key in (
        "reading", "limit", "strictest_limit", "loosest_limit", "times", "of", "less", "more", *_KEYS, "size_of", "sum_over",
    ):  # fmt: skip
        other = names.reference(value, each)
    elif key == "take" and section == "figure":
        other = None
    elif key in _WORDS:
        other = _next(_WORDS[key], value) if value in _WORDS[key] else None
    elif key in ("after", "task", "of_task", "with_tasks"):
        other = names.other("task", value)
    elif key in ("crew", "item"):
        other = names.other(key, value)
    elif key == "factors":
        other = names.other("factor", value)
    elif key in ("table", "value", "step", "most", "limit", "to") or "with" in path:
        other = names.reference(value if value.startswith("@") or key != "table" else f"@{value}", each)
        other = other.removeprefix("@") if other and key == "table" else other
    elif key == "value" and section == "parameter":
        other = None
    if other is not None:
        yield other


def _other_of_field(field: str, value: str) -> str | None:
    """Another closed word of a field, by whichever kind has it with this word."""
    for kind in KINDS.values():
        known = kind.fields.get(field)
        if known is not None and value in known.words:
            other = _next(known.words, value)
            return str(other) if other else None
    return None
