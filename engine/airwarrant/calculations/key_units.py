"""The unit, of the closed list, in which a key of a calculation is written in the trade's system."""

from collections.abc import Mapping
from types import MappingProxyType

from airwarrant.calculations.calculation import Key

#: Measure -> unit. A measure that is not here has no unit on the list: policy can neither give nor take such a number.
_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "flow": "cfm",
        "leakage-25": "cfm",
        "flow-per-capacity": "cfm/ton",
        "pressure": "in. w.c.",
        "small-pressure": "Pa",
        "friction": "in. w.c./100 ft",
        "velocity": "fpm",
        "length": "ft",
        "size": "in",
        "area": "ft2",
        "face": "in2",
        "temperature": "F",
        "difference": "F diff",
        "heat": "Btu/h",
        "power": "W",
        "resistance": "h ft2 F/Btu",
        "energy": "kWh",
        "share": "%",
        "number": "1",
        "power-per-flow": "W/cfm",
        "flow-per-face": "cfm/in2",
    }
)


def unit_of(key: Key) -> str:
    """Return the unit of a key as ``key.name("ip")`` writes it; empty for a word, a structure or a measure without one."""
    return _UNITS.get(key.measure, "") if key.form == "number" else ""
