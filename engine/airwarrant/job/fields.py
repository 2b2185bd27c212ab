"""What one field of the dictionary is, and the short forms that the words files write fields in."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Form = Literal["word", "reading", "number", "link"]
Section = Literal["house", "old", "new", "old-blower", "new-blower", "visit", "item", "derived"]

UNKNOWN = "unknown"
#: Before a reading's name: what was predicted of it, for a check that holds a test-out against the prediction.
EXPECTED = "expected_"
YES_NO = ("yes", "no", UNKNOWN)


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a kind.

    Attributes
    ----------
    name : str
        The name rules and checks use, and the record's key unless `key` says otherwise.
    form : {"word", "reading", "number", "link"}
        A closed word; a reading with state and ±; a plain number (a size, a nameplate value); or the id of another item.
    title : str
        What it is, in the trade's terms.
    unit : str
        Canonical (inch-pound) unit of a reading or number; ``si_unit`` is the one a record in SI writes.
    words : tuple of str
        The closed words of a word field. ``unknown`` always belongs to them and stands for an absent field.
    hard : tuple of float or None
        Least and most the record may hold, in `unit`; outside it the record is refused.
    section : str
        Where the record holds it: ``[house]``, ``[old]``, ``[new]``, ``[old.blower]``, ``[new.blower]``, a visit, the item's
        own block, or nowhere (derived by the program).
    timed : bool
        A figure of the equipment that is the old unit's for readings found and the new unit's for predicted and test-out.
    kind : str
        For a link: the kind of item it names.
    key : str
        The record's key where it differs from `name`.
    """

    name: str
    form: Form
    title: str
    unit: str = ""
    si_unit: str = ""
    words: tuple[str, ...] = ()
    hard: tuple[float, float] | None = None
    section: Section = "item"
    timed: bool = False
    kind: str = ""
    key: str = ""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of thing that rules speak of; `where` says where the survey asks for it."""

    name: str
    title: str
    where: str
    fields: Mapping[str, Field]


def kind_of(name: str, title: str, where: str, fields: tuple[Field, ...]) -> Kind:
    return Kind(name, title, where, MappingProxyType({f.name: f for f in fields}))


def word(name: str, title: str, *words: str, section: Section = "item", key: str = "") -> Field:
    closed = words if UNKNOWN in words else (*words, UNKNOWN)
    return Field(name, "word", title, words=closed, section=section, key=key)


def yes(name: str, title: str, section: Section = "item") -> Field:
    return word(name, title, *YES_NO, section=section)


def link(name: str, title: str, kind: str) -> Field:
    return Field(name, "link", title, kind=kind)


def number(
    name: str, title: str, unit: str, si: str, low: float, high: float, section: Section = "item", timed: bool = False
) -> Field:
    return Field(name, "number", title, unit, si, hard=(low, high), section=section, timed=timed)


def figure_of_unit(name: str, title: str, unit: str, si: str, low: float, high: float) -> Field:
    """A figure of the equipment, written in ``[old]`` and ``[new]``."""
    return number(name, title, unit, si, low, high, "new", timed=True)


def read(name: str, title: str, unit: str, si: str, low: float, high: float) -> Field:
    return Field(name, "reading", title, unit, si, hard=(low, high), section="visit")


def static(name: str, title: str, low: float = 0.0, high: float = 2.0) -> Field:
    return read(name, title, "in. w.c.", "Pa", low, high)


def flow(name: str, title: str, high: float = 3500.0) -> Field:
    return read(name, title, "cfm", "L/s", 0.0, high)


def temperature(name: str, title: str) -> Field:
    return read(name, title, "F", "C", -60.0, 200.0)


def derived(name: str, title: str, *words: str) -> Field:
    return word(name, title, *words, section="derived")
