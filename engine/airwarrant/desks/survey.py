"""A blank job record for one market: only what it reads, in the order of a visit, each key with what may stand there."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from textwrap import wrap

from airwarrant.desks.reads import Asked, reads_of
from airwarrant.desks.usual import Usual, in_units, usual_ranges
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, PHOTOGRAPHED, Field
from airwarrant.job.digest import FORMAT
from airwarrant.job.shape import LABELS, unit_of
from airwarrant.job.words_house import ACCESS, BUILDING, ENERGY, HAZARDS
from airwarrant.policy.model import Policy

_WIDTH = 120
_KEY = 24


@dataclass(frozen=True, slots=True)
class Key:
    """One key that the survey asks for; `unit`, `low` and `high` in the units of the sheet, None where nothing is usual."""

    name: str
    title: str
    unit: str
    words: tuple[str, ...]
    low: float | None
    high: float | None
    #: what stands after the equals sign of a blank sheet
    blank: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """A block of the record, or a part of one under its own heading.

    Attributes
    ----------
    title : str
        Heading.
    block : str
        The block's head as TOML has it, such as ``[[visit.room]]``; empty where the part goes on with the block before.
    several : bool
        One block for each such thing: the sheet holds one in comments, to be copied.
    keys : tuple of Key
    """

    title: str
    block: str
    several: bool
    keys: tuple[Key, ...]


#: Kinds in the order of the walk: what is dangerous, the rooms, then the air path from the grilles to the registers.
_WALK = (
    *("zone", "appliance", "material", "room", "grille", "return", "platform", "elbow", "plenum", "trunk", "run"),
    *("leak", "opening", "route"),
)
_SAFETY = ("ambient_co", "gas_smell", "gas_leak_check", "heat_index", "outdoor_temp", "outdoor_humidity", "wind")
#: Derived words and the text keys they follow from.
_LABELLED = (HOUSE_KEY, "unit_recorded")


def survey(policy: Policy, system: str) -> tuple[Part, ...]:
    """Return the parts of a market's survey in the order of a visit.

    Parameters
    ----------
    policy : Policy
    system : str
        Units of the sheet: ``ip`` or ``si``.
    """
    return tuple(_Sheet(reads_of(policy), usual_ranges(policy), system).parts())


def blank_record(policy: Policy, system: str) -> str:
    """Return the survey as a commented TOML record; its id and the day of the survey are to be filled, all else may stay."""
    lines = [*_head(policy, system)]
    for part in survey(policy, system):
        lines += ["", f"# {part.title} ".ljust(_WIDTH - 1, "-"), *_block(part)]
    return "\n".join(lines) + "\n"


class _Sheet:
    """What one market asks for, in one system of units."""

    def __init__(self, reads: frozenset[Asked], usual: Mapping[str, Usual], system: str) -> None:
        self._reads = reads
        self._usual = usual
        self._system = system

    def parts(self) -> Iterator[Part]:
        """Yield every part that has something to ask."""
        yield Part("What the homeowner says", "[house]", False, (_text("told", "In plain words"),))
        for title, fields in (
            ("Hazards seen on the walk; unknown is not no", HAZARDS),
            ("The building", BUILDING),
            ("Access", ACCESS),
            ("Energy", ENERGY),
        ):
            yield from self._some(Part(title, "", False, self._keys(HOUSE_KEY, (f.name for f in fields))))
        for kind in _WALK:
            yield from self._item(kind)
        yield from self._unit("old", "The unit that is there")
        yield from self._visit()
        yield from self._unit("new", "The unit to come")

    def _item(self, kind: str) -> Iterator[Part]:
        own = [f.name for f in KINDS[kind].fields.values() if f.section == "item" and f.form != "link"]
        links = [f.name for f in KINDS[kind].fields.values() if f.form == "link"]
        keys = self._keys(kind, own)
        if keys or self._asks(kind):
            photo = (_text("photo", "Reference of a photograph"),) if (kind, PHOTOGRAPHED) in self._reads else ()
            named = (_text("id", "Short name, once in the whole record"), _text("name", "What people call it"))
            joined = self._keys(kind, links, always=True)
            yield Part(f"{KINDS[kind].title}: one block each", f"[[{kind}]]", True, (*named, *keys, *joined, *photo))

    def _asks(self, kind: str) -> bool:
        return any(asked_kind == kind for asked_kind, _ in self._reads)

    def _unit(self, unit: str, title: str) -> Iterator[Part]:
        fields = KINDS[HOUSE_KEY].fields.values()
        labels = tuple(_text(name, f"{name.capitalize()} number on the label") for name in LABELS)
        own = [f.name for f in fields if f.section == unit or f.timed]
        yield Part(title, f"[{unit}]", False, (*self._keys(HOUSE_KEY, own), *(labels if self._labels(unit) else ())))
        blower = [f.name for f in fields if f.section == f"{unit}-blower"]
        yield Part("Its blower", f"[{unit}.blower]", False, self._keys(HOUSE_KEY, blower))
        static, flow = (unit_of(KINDS[HOUSE_KEY].fields[name], self._system) for name in ("external_static", "airflow"))
        rows = f"Rows of the maker's table: [static in {static}, flow in {flow}], statics rising"
        settings = (
            _text("name", "Name of the setting, the lowest first"),
            Key("table", rows, "", (), None, None, "[]"),
            Key("power", "Power of each row, where the maker gives it", "W", (), None, None, "[]"),
        )
        yield Part("Its fan settings: one block each", f"[[{unit}.blower.setting]]", True, settings)

    def _labels(self, unit: str) -> bool:
        return unit == "new" and _LABELLED in self._reads

    def _visit(self) -> Iterator[Part]:
        instrument = (
            _text("id", "Short name that readings give"),
            _text("kind", "What it is"),
            Key("checked", "Day of its last check", "", (), None, None),
        )
        yield Part("Instruments: one block each", "[[instrument]]", True, instrument)
        of_visit = [f for f in KINDS[HOUSE_KEY].fields.values() if f.section == "visit"]
        yield Part(
            "The first visit, on the old unit",
            "[[visit]]",
            False,
            (_text("fan_setting", "Fan setting of the readings"),),
        )
        safety = self._keys(HOUSE_KEY, (f.name for f in of_visit if f.name in _SAFETY))
        yield from self._some(Part("Before anything else: is it safe here?", "", False, safety))
        states = self._keys(HOUSE_KEY, (f.name for f in of_visit if f.form == "word" and f.name not in _SAFETY))
        yield from self._some(Part("How the readings were taken", "", False, states))
        readings = self._keys(HOUSE_KEY, (f.name for f in of_visit if f.form == "reading" and f.name not in _SAFETY))
        yield from self._some(Part("Readings", "", False, readings))
        for kind in _WALK:
            keys = self._keys(kind, (f.name for f in KINDS[kind].fields.values() if f.section == "visit"))
            if keys:
                named = (_text("id", f"Id of a [[{kind}]]"),)
                title = f"Readings, {KINDS[kind].title.lower()}: one block each"
                yield Part(title, f"[[visit.{kind}]]", True, (*named, *keys))

    @staticmethod
    def _some(part: Part) -> Iterator[Part]:
        if part.keys:
            yield part

    def _keys(self, kind: str, names: Iterable[str], *, always: bool = False) -> tuple[Key, ...]:
        fields = (KINDS[kind].fields[name] for name in names if always or (kind, name) in self._reads)
        return tuple(self._key(field) for field in fields)

    def _key(self, field: Field) -> Key:
        title = f"{field.title}: id of a [[{field.kind}]]" if field.form == "link" else field.title
        blank = '""' if field.form in ("word", "link") else ""
        low: float | None = None
        high: float | None = None
        if field.name in self._usual and field.form in ("reading", "number"):
            low, high = in_units(self._usual[field.name], field, self._system)
        return Key(field.key or field.name, title, unit_of(field, self._system), field.words, low, high, blank)


def _text(name: str, title: str) -> Key:
    return Key(name, title, "", (), None, None, '""')


def _head(policy: Policy, system: str) -> Iterator[str]:
    asks = "It asks for what this market's rules, checks, sizes, prices and predictions read."
    yield from (f"# {line}" for line in wrap(f"Survey for {policy.market.title}. {asks}", _WIDTH - 2))
    yield "# Take the # away before a key that you fill in. A key left out is unknown, and unknown is not no."
    yield "# A reading that was measured is its number alone. Else write, for example:"
    yield '#   airflow = { value = 1013, state = "table", plus_minus = 100, instrument = "manometer-2", time = "10:40" }'
    yield "# with state measured, table, stated or assumed. Usual ranges are asked about outside, not refused."
    yield "# Do not enter a roof, attic, crawl space or cabinet that is not safe: leave the key out and say so."
    yield f'format = "{FORMAT}"'
    yield 'id = ""'.ljust(_KEY) + "  # needed: the job's number or name"
    yield f'market = "{policy.market.name}"'
    yield f'units = "{system}"'
    yield 'dates = { survey = "" }'.ljust(_KEY) + "  # needed: a day such as 2026-07-14; later also proposal and permit"


def _block(part: Part) -> Iterator[str]:
    mark = "#" if part.several else ""
    if part.block:
        yield mark + part.block
    if part.block == "[[visit]]":
        yield 'kind = "test-in"'.ljust(_KEY) + "  # test-in, unit-off, after-balance or test-out"
        yield 'unit = "old"'.ljust(_KEY) + "  # old or new"
    for key in part.keys:
        yield from _line(key)


def _line(key: Key) -> Iterator[str]:
    """A key in comments, with its title and what may stand there; what is too long for the line goes on below it."""
    left = f"#{key.name} = {key.blank}".rstrip().ljust(_KEY)
    first, *rest = wrap(_explained(key), _WIDTH - len(left) - 4)
    yield f"{left}  # {first}"
    yield from (f"#{'':{len(left) - 1}}  # {more}" for more in rest)


def _explained(key: Key) -> str:
    unit = f" [{key.unit}]" if key.unit not in ("", "1") else ""
    usual = f"; usual {key.low:g} to {key.high:g}" if key.low is not None and key.high is not None else ""
    words = f": {' | '.join(key.words)}" if key.words else ""
    return f"{key.title}{unit}{usual}{words}"
