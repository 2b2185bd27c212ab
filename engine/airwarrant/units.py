"""The closed list of units, conversion at the edge, and each unit's fixed decimals.

Comparisons and output use the unit's fixed decimals, so that the same reading gives the same word and the same bytes on
every machine.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from math import pi
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: SI value = number × `factor` + `offset`, in the base unit of `dimension`."""

    name: str
    dimension: str
    factor: float
    decimals: int
    offset: float = 0.0


# Factors: the international foot and pound are exact (1959 agreement); in. w.c. is the conventional value 249.08891 Pa
# (NIST SP 811, inch of water, conventional); 1 ton of refrigeration = 12,000 Btu(IT)/h.
_FT = 0.3048
_CFM = _FT**3 / 60.0
_IN2 = (_FT / 12.0) ** 2
_TON = 12000.0 * 1055.05585262 / 3600.0
_R = _FT**2 * (5.0 / 9.0) / (_TON / 12000.0)
_LIST = (
    Unit("1", "number", 1.0, 4),
    Unit("%", "number", 0.01, 1),
    Unit("in. w.c.", "pressure", 249.08891, 3),
    Unit("Pa", "pressure", 1.0, 1),
    Unit("in. w.c./100 ft", "pressure per length", 249.08891 / (100.0 * _FT), 4),
    Unit("Pa/m", "pressure per length", 1.0, 3),
    Unit("cfm", "flow", _CFM, 0),
    Unit("L/s", "flow", 1e-3, 1),
    Unit("m3/s", "flow", 1.0, 4),
    Unit("cfm/ton", "flow per capacity", _CFM / _TON, 0),
    Unit("L/s/kW", "flow per capacity", 1e-6, 1),
    Unit("W/cfm", "power per flow", 1.0 / _CFM, 3),
    Unit("W", "power", 1.0, 0),
    Unit("kW", "power", 1000.0, 2),
    Unit("Btu/h", "power", _TON / 12000.0, 0),
    Unit("ton", "power", _TON, 1),
    Unit("kWh", "energy", 3.6e6, 0),
    Unit("money", "money", 1.0, 0),
    Unit("money/kWh", "price of energy", 1.0, 3),
    # A therm is 100,000 Btu(IT).
    Unit("money/therm", "price of energy", 3.6e6 / (1e5 * 1055.05585262), 3),
    Unit("lb", "mass", 0.45359237, 1),
    Unit("kg", "mass", 1.0, 2),
    Unit("lb/ft3", "density", 0.45359237 / _FT**3, 4),
    Unit("kg/m3", "density", 1.0, 3),
    Unit("Btu/h/cfm/F", "heat per volume", _TON / 12000.0 / _CFM / (5.0 / 9.0), 3),
    Unit("J/m3/K", "heat per volume", 1.0, 0),
    Unit("in", "length", _FT / 12.0, 2),
    Unit("ft", "length", _FT, 1),
    Unit("mm", "length", 1e-3, 0),
    Unit("m", "length", 1.0, 2),
    Unit("in2", "area", _IN2, 0),
    Unit("ft2", "area", _FT**2, 0),
    Unit("cm2", "area", 1e-4, 0),
    Unit("m2", "area", 1.0, 2),
    Unit("cfm/in2", "velocity", _CFM / _IN2, 2),
    Unit("cfm/100 ft2", "velocity", _CFM / (100.0 * _FT**2), 1),
    Unit("mph", "velocity", 5280.0 * _FT / 3600.0, 0),
    Unit("m/s", "velocity", 1.0, 1),
    Unit("fpm", "velocity", _FT / 60.0, 0),
    Unit("F", "temperature", 5.0 / 9.0, 1, 459.67 * 5.0 / 9.0),
    Unit("C", "temperature", 1.0, 1, 273.15),
    Unit("F diff", "temperature difference", 5.0 / 9.0, 1),
    Unit("K", "temperature difference", 1.0, 1),
    Unit("h ft2 F/Btu", "thermal resistance", _R, 1),
    Unit("m2 K/W", "thermal resistance", 1.0, 2),
    Unit("Btu/h/ft2/F", "thermal transmittance", 1.0 / _R, 3),
    Unit("W/m2/K", "thermal transmittance", 1.0, 2),
    Unit("deg", "angle", pi / 180.0, 1),
    Unit("ppm", "concentration", 1.0, 0),
    Unit("s", "time", 1.0, 0),
    Unit("h", "time", 3600.0, 1),
    Unit("d", "time", 86400.0, 0),
    Unit("year", "date", 1.0, 0),
    Unit("word", "word", 1.0, 0),
)
UNITS: Mapping[str, Unit] = MappingProxyType({unit.name: unit for unit in _LIST})
_QUANTA: Mapping[str, Decimal] = MappingProxyType({unit.name: Decimal(1).scaleb(-unit.decimals) for unit in _LIST})
_QUANTITY = re.compile(r"(-?\d+(?:\.\d+)?) (\S.*)")


def same_dimension(a: str, b: str) -> bool:
    """Whether two units of the list measure the same thing."""
    return UNITS[a].dimension == UNITS[b].dimension


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Convert `value` between two units of one dimension.

    Raises
    ------
    ValueError
        If the units measure different things, such as a length against a pressure.
    """
    if from_unit == to_unit:
        return value
    a, b = UNITS[from_unit], UNITS[to_unit]
    if a.dimension != b.dimension:
        raise ValueError(f"{from_unit} is a {a.dimension}, {to_unit} a {b.dimension}")
    return (value * a.factor + a.offset - b.offset) / b.factor


def to_si(value: float, unit: str) -> float:
    """Return `value` of `unit` in SI."""
    return value * UNITS[unit].factor + UNITS[unit].offset


def fixed(value: float, unit: str) -> str:
    """Return `value` as text at the fixed decimals of `unit`; never ``-0``."""
    text = format(at_decimals(value, unit), "f")
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def at_decimals(value: float, unit: str) -> Decimal:
    """Return `value` rounded, half to even, to the fixed decimals of `unit`: the form in which numbers are compared."""
    # Twelve significant digits first: 0.1 + 0.2 and 0.3 are one number to an instrument.
    return Decimal(format(value, ".12g")).quantize(_QUANTA[unit], ROUND_HALF_EVEN)


def number(value: float, unit: str) -> float:
    """Return `value` as the float nearest to its fixed decimals: the form in which results are written."""
    return float(fixed(value, unit))


def parse_quantity(text: str) -> tuple[float, str]:
    """Read ``400 cfm/ton`` into its number and unit.

    Raises
    ------
    ValueError
        If the text is not a number, a space and a unit of the list.
    """
    match = _QUANTITY.fullmatch(text)
    if not match or match[2] not in UNITS:
        raise ValueError(f"`{text}` is not a number, a space and a known unit")
    return float(match[1]), match[2]
