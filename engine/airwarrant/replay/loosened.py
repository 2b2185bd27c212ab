"""Safety values, checks and rules that the second policy holds looser than the first, or that it does not show to be as strict."""

from collections.abc import Iterator
from itertools import pairwise

from airwarrant.policy.access import row_of
from airwarrant.policy.digest import ORIGIN
from airwarrant.policy.model import Check, Parameter, Policy, Rule, Table
from airwarrant.policy.show_values import rows_text, value_text
from airwarrant.rules.clauses import checks_read
from airwarrant.units import UNITS

SAFETY = "safety"
_WORDS = ORIGIN | {"title", "stage", "retest_when"}


def loosened(a: Policy, b: Policy) -> tuple[str, ...]:
    """Return a sentence for each, in name order; a value is loosened where it moves against the side its policy calls safer.

    A check that a rule of safety's authority reads, and the rule itself, count as loosened where they are gone or read otherwise:
    nothing shows that they are as strict.
    """
    return (*_parameters(a, b), *_tables(a, b), *_checks(a, b), *_rules(a, b))


def _parameters(a: Policy, b: Policy) -> Iterator[str]:
    for name, old in a.parameters.items():
        new = b.parameters.get(name)
        if not old.safer or isinstance(old.value, str):
            continue
        if new is None or isinstance(new.value, str) or UNITS[old.unit].dimension != UNITS[new.unit].dimension:
            yield f"“{old.title}” ({name}) is gone, or is no such value any more"
        elif _loosened(_si(old, float(old.value)), _si(new, float(new.value)), old.safer):
            now, before = value_text(new.value, new.unit), value_text(old.value, old.unit)
            yield f"“{old.title}” ({name}) is {now} instead of {before}; {old.safer} is safer"


def _tables(a: Policy, b: Policy) -> Iterator[str]:
    for name, old in a.tables.items():
        new = b.tables.get(name)
        if not old.safer:
            continue
        if new is None or (new.by, new.by_unit, new.unit) != (old.by, old.by_unit, old.unit):
            yield f"“{old.title}” ({name}) is gone, or goes by something else"
        elif any(_looser_at(old, new, key) for key in _probes(old, new)):
            yield f"“{old.title}” ({name}) is {rows_text(new)} instead of {rows_text(old)}; {old.safer} is safer"


def _looser_at(old: Table, new: Table, key: float | str) -> bool:
    before, after = (row_of(one.rows, key, one.between, one.below_first, one.above_last) for one in (old, new))
    return before is not None and (after is None or _loosened(before[0], after[0], old.safer))


def _probes(old: Table, new: Table) -> list[float | str]:
    """Every key of either; of numbers also what lies between them and beyond the ends."""
    keys = {key for table in (old, new) for key, _ in table.rows}
    numbers = sorted(float(key) for key in keys if not isinstance(key, str))
    if len(numbers) < len(keys):
        return sorted(map(str, keys))
    between = [(low + high) / 2.0 for low, high in pairwise(numbers)]
    return [numbers[0] - 1.0, *numbers, *between, numbers[-1] + 1.0] if numbers else []


def _checks(a: Policy, b: Policy) -> Iterator[str]:
    read = {check for rule in a.rules.values() if rule.authority == SAFETY for check, _ in checks_read(rule)}
    for name in sorted(read):
        old, new = a.checks[name], b.checks.get(name)
        if new is None or _differs(old, new):
            yield f"the check “{old.title}” ({name}), which a safety rule reads, {_how(new is None)}"


def _rules(a: Policy, b: Policy) -> Iterator[str]:
    for name, old in a.rules.items():
        new = b.rules.get(name)
        if old.authority == SAFETY and (new is None or _differs(old, new)):
            yield f"the safety rule “{old.title}” ({name}) {_how(new is None)}"


def _how(gone: bool) -> str:
    return "is gone" if gone else "reads otherwise: nothing shows that it is as strict"


def _differs(old: Check | Rule, new: Check | Rule) -> bool:
    names = [name for name in old.__dataclass_fields__ if name not in _WORDS]
    return any(getattr(old, name) != getattr(new, name) for name in names)


def _loosened(before: float, after: float, safer: str) -> bool:
    return after > before if safer == "lower" else after < before


def _si(parameter: Parameter, value: float) -> float:
    unit = UNITS[parameter.unit]
    return value * unit.factor + unit.offset
