"""The links of a network file: a resistance, or a duct, an opening or a leak from which the resistance follows.

The keys of a duct, an opening and a leak carry their unit, as everywhere in `calc`; only `k` is in the units of the
file.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite, pi
from types import MappingProxyType
from typing import Any

from airwarrant.air.friction import ROUGHNESS, compression_factor, duct_law, reynolds_number
from airwarrant.air.leakage import leak_resistance
from airwarrant.air.openings import DISCHARGE, opening_resistance
from airwarrant.calculations.calculation import Impossible, Key, Line, not_negative, number, outside, positive, word
from airwarrant.calculations.inputs import read_value
from airwarrant.calculations.measures import MEASURES, System
from airwarrant.calculations.ranges import compressed, discharge_range, duct_range, leak_pressure_range, only_flex
from airwarrant.errors import Fault

_TEST_PRESSURE = 25.0
_TRIFLING = 1.0  # Pa; below it a leak's law is unsure, and its flow a trifle
_TYPICAL_VELOCITY = 2.5  # m/s, where a duct's first law is taken
_ENDS = ("id", "from", "to")


@dataclass(frozen=True, slots=True)
class LinkRow:
    """One link as it was given.

    Attributes
    ----------
    id, a, b : str
    kind : str
        One of `KINDS`.
    values : mapping
        SI, by key id.
    """

    id: str
    a: str
    b: str
    kind: str
    values: Mapping[str, Any]

    @property
    def follows_flow(self) -> bool:
        """Whether the law depends on the flow."""
        return self.kind == "duct"

    @property
    def typical_flow(self) -> float:
        """Flow [m3/s] at which the first law is taken."""
        return _TYPICAL_VELOCITY * pi * self.values["diameter"] ** 2 / 4.0 if self.follows_flow else 0.0

    def law(self, flow: float) -> tuple[float, float]:
        """Resistance k [Pa/(m3/s)^n] and exponent n at a flow [m3/s]."""
        return KINDS[self.kind].law(self.values, flow)

    def lines(self, flow: float, drop: float) -> tuple[Line, ...]:
        """Valid ranges that are left at a flow [m3/s] and drop [Pa], each with the link's name."""
        return tuple(line.about(f"link `{self.id}`") for line in KINDS[self.kind].lines(self.values, flow, drop))


@dataclass(frozen=True, slots=True)
class _Kind:
    keys: tuple[Key, ...]
    law: Callable[[Mapping[str, Any], float], tuple[float, float]]
    lines: Callable[[Mapping[str, Any], float, float], tuple[Line, ...]]

    def named(self, system: System) -> str:
        return ", ".join(key.name(system) for key in self.keys)


def _resistance_law(v: Mapping[str, Any], flow: float) -> tuple[float, float]:
    return v["k"], v["exponent"]


def _duct_law(v: Mapping[str, Any], flow: float) -> tuple[float, float]:
    factor = compression_factor(v["diameter"], v["compression"])
    rough = ROUGHNESS[v["material"]]
    found = duct_law(flow, v["diameter"], rough, v["length"], factor, v["coefficient"])
    return found.k, found.exponent


def _duct_lines(v: Mapping[str, Any], flow: float, drop: float) -> tuple[Line, ...]:
    _, lines = compressed(v["diameter"], v["compression"])
    return lines + duct_range(reynolds_number(flow, v["diameter"]), v["material"], v["diameter"])


def _opening_law(v: Mapping[str, Any], flow: float) -> tuple[float, float]:
    return opening_resistance(v["free_area"], v["discharge"]), 2.0


def _opening_lines(v: Mapping[str, Any], flow: float, drop: float) -> tuple[Line, ...]:
    return discharge_range(v["discharge"])


def _leak_law(v: Mapping[str, Any], flow: float) -> tuple[float, float]:
    return leak_resistance(v["leakage"], _TEST_PRESSURE, v["exponent"]), 1.0 / v["exponent"]


def _leak_lines(v: Mapping[str, Any], flow: float, drop: float) -> tuple[Line, ...]:
    return leak_pressure_range(max(drop, _TRIFLING))


def _no_lines(v: Mapping[str, Any], flow: float, drop: float) -> tuple[Line, ...]:
    return ()


KINDS: Mapping[str, _Kind] = MappingProxyType(
    {
        "resistance": _Kind((positive("k"), number("exponent", default=2.0)), _resistance_law, _no_lines),
        "duct": _Kind(
            (
                word("material", *ROUGHNESS),
                positive("diameter", "size"),
                positive("length", "length"),
                not_negative("compression", "share", 0.0),
                not_negative("coefficient", default=0.0),
            ),
            _duct_law,
            _duct_lines,
        ),
        "opening": _Kind(
            (positive("free_area", "face"), positive("discharge", default=DISCHARGE)), _opening_law, _opening_lines
        ),
        "leak": _Kind(
            (positive("leakage", "leakage-25", stem=""), number("exponent", default=0.6)), _leak_law, _leak_lines
        ),
    }
)
#: What tells the kinds apart: the first of a kind's own keys.
_OWN = {"resistance": "k", "duct": "diameter", "opening": "free_area", "leak": "leakage"}


def read_links(rows: Sequence[Mapping[str, Any]], system: System) -> tuple[LinkRow, ...]:
    """Read the [[link]] blocks of a file into SI.

    Raises
    ------
    Impossible
        Of the key `links`, with the link's name: a kind that cannot be told, an unknown or missing key, a value that
        cannot be.
    """
    found = tuple(_read(row, at, system) for at, row in enumerate(rows))
    for at, one in enumerate(found):
        if any(one.id == other.id for other in found[:at]):
            raise Impossible("links", f"id `{one.id}` stands twice", "each id once")
    return found


def _read(row: Mapping[str, Any], at: int, system: System) -> LinkRow:
    lacking = [end for end in _ENDS if end not in row]
    if lacking:
        raise Impossible("links", f"[[link]] number {at + 1} lacks {', '.join(lacking)}", ", ".join(_ENDS))
    name, a, b = (str(row[end]) for end in _ENDS)
    if name == "blower":
        raise Impossible("links", "a link is named `blower`, which is the blower's own name", "another id")
    rest = {key: value for key, value in row.items() if key not in _ENDS}
    kind = _kind(name, rest, system)
    values = _values(name, kind, rest, system)
    _refuse(name, kind, values)
    if kind == "resistance":
        values["k"] *= _k_factor(values["exponent"], system)
        if not (isfinite(values["k"]) and values["k"] > 0.0):
            raise Impossible("links", f"k of `{name}` is too large or too small to calculate with")
    return LinkRow(name, a, b, kind, values)


def _kind(name: str, rest: Mapping[str, Any], system: System) -> str:
    told = [
        kind
        for kind, own in _OWN.items()
        if any(written in rest for key in KINDS[kind].keys if key.id == own for written in key.names())
    ]
    if len(told) == 1:
        return told[0]
    found = f"`{name}` is both {' and '.join(told)}" if told else f"`{name}` is no known kind of link"
    raise Impossible("links", found, "; or ".join(kind.named(system) for kind in KINDS.values()))


def _values(name: str, kind: str, rest: Mapping[str, Any], system: System) -> dict[str, Any]:
    keys = KINDS[kind].keys
    owner = {written: key for key in keys for written in key.names()}
    values: dict[str, Any] = {}
    for written, raw in rest.items():
        key = owner.get(written)
        if key is None:
            raise Impossible("links", f"`{written}` of `{name}` is unknown for a {kind}", KINDS[kind].named(system))
        if key.id in values:
            raise Impossible("links", f"`{written}` of `{name}` is given twice", "one of them")
        value = read_value(key, written, raw, system)
        if isinstance(value, Fault):
            raise Impossible("links", f"{written} of `{name}` is {value.found}", value.allowed)
        values[key.id] = value
    for key in keys:
        if key.id not in values:
            if key.default is None:
                raise Impossible("links", f"`{name}` lacks {key.name(system)}", KINDS[kind].named(system))
            values[key.id] = key.scales.ip.to_si(key.default) if isinstance(key.default, float) else key.default
    return values


def _refuse(name: str, kind: str, values: Mapping[str, Any]) -> None:
    low, high = (0.5, 1.0) if kind == "leak" else (1.0, 2.0)
    if "exponent" in values and outside(values["exponent"], low, high, ""):
        raise Impossible("links", f"exponent of `{name}` is {values['exponent']:g}", f"{low:g} to {high:g}")
    try:
        if kind == "duct":
            only_flex(values["material"], values["compression"])
            compressed(values["diameter"], values["compression"])
        if kind == "opening":
            discharge_range(values["discharge"])
    except Impossible as error:
        raise Impossible("links", f"{error.key} of `{name}`: {error.found}", error.allowed) from error


def _k_factor(exponent: float, system: System) -> float:
    """Times a file's k, in Pa or in. w.c. and m3/s or cfm, gives it in SI."""
    if system == "si":
        return 1.0
    factor: float = MEASURES["pressure"].ip.factor / MEASURES["flow"].ip.factor ** exponent
    return factor


def write_links(rows: Sequence[LinkRow], system: System) -> list[dict[str, Any]]:
    """Links as they were given, in a system of units."""
    return [
        {"id": row.id, "from": row.a, "to": row.b}
        | {key.name(system): _said(row, key, system) for key in KINDS[row.kind].keys}
        for row in rows
    ]


def _said(row: LinkRow, key: Key, system: System) -> Any:
    value = row.values[key.id]
    if key.form == "word":
        return value
    if key.id == "k":
        return key.scales.of(system).written(value / _k_factor(row.values["exponent"], system))
    return key.scales.of(system).written(value)


def write_laws(laws: Mapping[str, tuple[float, float]], system: System) -> dict[str, dict[str, float]]:
    """Each link's k and exponent, in the units of the file."""
    plain = MEASURES["number"].ip
    return {
        name: {"k": plain.written(k / _k_factor(n, system)), "exponent": plain.written(n)}
        for name, (k, n) in laws.items()
    }
