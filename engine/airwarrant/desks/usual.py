"""Usual ranges: what a reading or number of the record is in nearly every house. Outside is a question, never a refusal."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from airwarrant.job.dictionary import KINDS, Field
from airwarrant.job.shape import unit_of
from airwarrant.policy.model import Policy
from airwarrant.units import UNITS, convert

LEAST, MOST = "usual_least_", "usual_most_"


@dataclass(frozen=True, slots=True)
class Usual:
    """A range in `unit`; `tables` names where its ends stand in the policy."""

    low: float
    high: float
    unit: str
    tables: tuple[str, str]


def usual_ranges(policy: Policy) -> Mapping[str, Usual]:
    """Return the usual range of each reading and number that policy gives both ends of, by name."""
    least, most = _ends(policy, LEAST), _ends(policy, MOST)
    return MappingProxyType(
        {
            name: Usual(low, convert(most[name][0], most[name][1], unit), unit, (table, most[name][2]))
            for name, (low, unit, table) in sorted(least.items())
            if name in most and UNITS[most[name][1]].dimension == UNITS[unit].dimension
        }
    )


def in_units(usual: Usual, field: Field, system: str) -> tuple[float, float]:
    """Ends of a range in the units of a record, inside what the field may hold, at three digits."""
    unit = unit_of(field, system)
    hard = field.hard or (usual.low, usual.high)
    low, high = (convert(end, usual.unit, field.unit) for end in (usual.low, usual.high))
    low, high = max(low, hard[0]), min(high, hard[1])
    if unit == field.unit:
        return low, high
    return _three(convert(low, field.unit, unit)), _three(convert(high, field.unit, unit))


def unranged(policy: Policy) -> tuple[str, ...]:
    """Names of readings and numbers a record may hold that policy gives no usual range."""
    known = usual_ranges(policy)
    names = {
        field.name
        for kind in KINDS.values()
        for field in kind.fields.values()
        if field.form in ("reading", "number") and field.section != "derived"
    }
    return tuple(sorted(names - known.keys()))


def _ends(policy: Policy, prefix: str) -> dict[str, tuple[float, str, str]]:
    return {
        str(row[0]): (row[1], table.unit, name)
        for name, table in policy.tables.items()
        if name.startswith(prefix)
        for row in table.rows
    }


def _three(value: float) -> float:
    return float(f"{value:.3g}")
