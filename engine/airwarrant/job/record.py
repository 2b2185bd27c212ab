"""A job record as the program works with it: canonical units, closed words, every number a reading with its place."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from airwarrant.job.digest import Digest
from airwarrant.job.readings import Reading
from airwarrant.source.place import Place


@dataclass(frozen=True, slots=True)
class Item:
    """The house or one thing in it. A word that is absent or ``unknown`` is not in `words`.

    `name` is what people call it, `photo` the reference of a photograph; empty if not written.
    """

    kind: str
    key: str
    words: Mapping[str, str]
    links: Mapping[str, str]
    numbers: Mapping[str, Reading]
    place: Place | None = None
    name: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True)
class Visit:
    """Readings taken on one day on one unit.

    `index` is the visit's position in the file, from 0; `readings` maps (item key or ``house``, field) to a reading.
    """

    index: int
    kind: str
    unit: str
    date: date
    fan_setting: str
    words: Mapping[str, str]
    readings: Mapping[tuple[str, str], Reading]


@dataclass(frozen=True, slots=True)
class Setting:
    """One fan setting with its table of (external static in in. w.c., flow in cfm), statics rising.

    `power` is the maker's power [W] of each row, empty where the record has none.
    """

    name: str
    table: tuple[tuple[float, float], ...]
    power: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Blower:
    """A blower; the settings stand lowest first."""

    kind: str
    settings: tuple[Setting, ...]


@dataclass(frozen=True, slots=True)
class Override:
    """A line that a person of the firm decided against the rules, and why."""

    line: str
    decision: str
    reason: str
    by: str
    place: Place | None


@dataclass(frozen=True, slots=True)
class Choice:
    """What the homeowner chose: an option (`accepted`), or one line (`decision` accepted or declined)."""

    option: str = ""
    accepted: bool | None = None
    line: str = ""
    decision: str = ""
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument and the day of its last check."""

    key: str
    kind: str
    checked: date | None


@dataclass(frozen=True)
class JobRecord:
    """A whole record.

    Attributes
    ----------
    dates : Mapping
        ``survey``, ``proposal`` and ``permit``; the last two None if not written.
    items : Mapping
        Key -> item, the house among them as ``house``; in order of keys.
    old, new : Mapping
        Figures of the equipment (the dictionary's `timed` fields).
    visits : tuple of Visit
        In order of their dates; those of one day as the record has them.
    digest : str
        SHA-256 over what the record means: not over its layout, its order, its units, its notes or its file's name.
    """

    id: str
    market: str
    units: str
    demo: bool
    told: str
    dates: Mapping[str, date | None]
    items: Mapping[str, Item]
    old: Mapping[str, Reading]
    new: Mapping[str, Reading]
    old_blower: Blower | None
    new_blower: Blower | None
    visits: tuple[Visit, ...]
    overrides: tuple[Override, ...]
    choices: tuple[Choice, ...]
    file: str
    instruments: Mapping[str, Instrument] = field(default_factory=lambda: MappingProxyType({}))
    #: (item key or ``house``, field) -> where the word stands; of several visits on the old unit, in the newest
    word_places: Mapping[tuple[str, str], Place] = field(default_factory=lambda: MappingProxyType({}))
    #: ``old.model``, ``new.serial`` and the like -> what the label says
    labels: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    digest: Digest = Digest()  # noqa: RUF009 a descriptor, the same for every record
