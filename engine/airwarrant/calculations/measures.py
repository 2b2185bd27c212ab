"""What a key of a calculation measures: its suffix and unit in either system, and the other suffixes it may carry.

A key's suffix says its unit (`flow_cfm`, `flow_l_s`), so a key is accepted in any suffix of its measure; the chosen
system decides how answers are written and what lists and faults show.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from airwarrant.units import UNITS

System = Literal["ip", "si"]


@dataclass(frozen=True, slots=True)
class Scale:
    """A suffix and its unit: SI value = number × `factor` + `offset`; `unit` is how a sentence names it."""

    suffix: str
    factor: float
    offset: float = 0.0
    unit: str = ""

    def to_si(self, number: float) -> float:
        return number * self.factor + self.offset

    def from_si(self, value: float) -> float:
        return (value - self.offset) / self.factor

    def written(self, value: float) -> float:
        """Number as it is written: fourteen digits, so that 1200 cfm is 1200 again after SI, on every machine."""
        return float(format(self.from_si(value), ".14g"))

    def said(self, value: float) -> str:
        """Number for a sentence, without its unit: three digits."""
        return format(float(format(self.from_si(value), ".3g")), ",g")


@dataclass(frozen=True, slots=True)
class Measure:
    """Suffixes of one measure: the trade's, the SI one, and others that a key may carry."""

    ip: Scale
    si: Scale
    others: tuple[Scale, ...] = ()

    def of(self, system: System) -> Scale:
        """Scale of one system."""
        return self.ip if system == "ip" else self.si

    @property
    def all(self) -> tuple[Scale, ...]:
        return (self.ip, self.si, *self.others)


_SAID = {"in": "in.", "F": "°F", "C": "°C"}


def _unit(suffix: str, unit: str) -> Scale:
    return Scale(suffix, UNITS[unit].factor, UNITS[unit].offset, _SAID.get(unit, unit))


def _same(suffix: str, factor: float = 1.0, unit: str = "") -> Measure:
    return Measure(Scale(suffix, factor, unit=unit), Scale(suffix, factor, unit=unit))


_BTUH = UNITS["ton"].factor / 12000.0
_LB, _FT = 0.45359237, 0.3048
_CFM, _IN_WC = UNITS["cfm"].factor, UNITS["in. w.c."].factor
_K_PER_F = UNITS["F diff"].factor

MEASURES: Mapping[str, Measure] = MappingProxyType(
    {
        "flow": Measure(_unit("cfm", "cfm"), _unit("l_s", "L/s"), (_unit("m3_s", "m3/s"),)),
        "leakage-25": Measure(Scale("cfm25", _CFM, unit="cfm"), Scale("l_s_25", 1e-3, unit="L/s")),
        "flow-per-capacity": Measure(_unit("cfm_per_ton", "cfm/ton"), _unit("l_s_per_kw", "L/s/kW")),
        "pressure": Measure(_unit("inwc", "in. w.c."), _unit("pa", "Pa")),
        "small-pressure": Measure(_unit("pa", "Pa"), _unit("pa", "Pa"), (_unit("inwc", "in. w.c."),)),
        "barometric": Measure(Scale("psia", _LB * 9.80665 / 0.0254**2, unit="psi"), Scale("kpa", 1000.0, unit="kPa")),
        "friction": Measure(
            Scale("inwc_per_100ft", _IN_WC / (100.0 * _FT), unit="in. w.c. per 100 ft"),
            Scale("pa_per_m", 1.0, unit="Pa/m"),
        ),
        "velocity": Measure(_unit("fpm", "fpm"), Scale("m_s", 1.0, unit="m/s")),
        "length": Measure(_unit("ft", "ft"), _unit("m", "m")),
        "size": Measure(_unit("in", "in"), _unit("mm", "mm")),
        "area": Measure(_unit("ft2", "ft2"), _unit("m2", "m2")),
        "face": Measure(_unit("in2", "in2"), _unit("cm2", "cm2")),
        "volume": Measure(Scale("ft3", _FT**3, unit="ft3"), Scale("m3", 1.0, unit="m3")),
        "temperature": Measure(_unit("f", "F"), _unit("c", "C")),
        "difference": Measure(Scale("f", _K_PER_F, unit="°F"), Scale("k", 1.0, unit="K")),
        "density": Measure(Scale("lb_ft3", _LB / _FT**3, unit="lb/ft3"), Scale("kg_m3", 1.0, unit="kg/m3")),
        "heat": Measure(Scale("btuh", _BTUH, unit="Btu/h"), Scale("w", 1.0, unit="W"), (Scale("kw", 1000.0),)),
        "power": Measure(Scale("w", 1.0, unit="W"), Scale("w", 1.0, unit="W"), (Scale("kw", 1000.0),)),
        "resistance": Measure(Scale("r", _FT**2 * _K_PER_F / _BTUH), Scale("rsi", 1.0)),
        "energy": _same("kwh", unit="kWh"),
        "share": _same("pct", 0.01, "%"),
        "angle": _same("deg", unit="degrees"),
        "number": _same(""),
        "volumetric-heat": Measure(Scale("", _BTUH / (_CFM * _K_PER_F)), Scale("", 1000.0)),
        "power-per-flow": Measure(Scale("w_per_cfm", 1.0 / _CFM), Scale("w_per_l_s", 1000.0)),
        "flow-per-face": Measure(Scale("cfm_per_in2", _CFM / 0.0254**2), Scale("l_s_per_cm2", 10.0)),
    }
)
