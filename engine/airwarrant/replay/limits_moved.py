"""How far each limit moves when one policy value does: what the free room of a check is held against."""

from collections.abc import Iterator
from dataclasses import dataclass

from airwarrant.policy.checks import limit_refs
from airwarrant.policy.model import Check, Policy, Ref
from airwarrant.policy.rests_on import limits_refs, percent
from airwarrant.policy.sizes import size_refs
from airwarrant.units import UNITS

#: A value by the form of its references and its name: a parameter or a table.
Value = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Shift:
    """How a limit of a check follows a value: by its `difference` in SI, or by a `ratio`; None where neither is proved."""

    check: str
    difference: float | None = None
    ratio: float | None = None

    @property
    def proved(self) -> bool:
        return self.difference is not None or self.ratio is not None


def only_limits(policy: Policy, value: Value) -> bool:
    """Whether nothing but limits of checks and sizes of tasks reads a value: no figure, no doubt of a rule, no reading of a check."""
    others: list[Ref] = [ref for figure in policy.figures.values() for ref in figure.refs]
    others += [then.to for rule in policy.rules.values() for then in rule.then if then.to is not None]
    others += [check.reading for check in policy.checks.values()]
    return not any(_is(ref, value) for ref in others)


def tasks_sized(policy: Policy, value: Value) -> tuple[str, ...]:
    """Names of the tasks whose sizes read a value: it counts for them wherever one has a line."""
    return tuple(name for name, task in policy.tasks.items() if any(_is(ref, value) for ref in size_refs(task)))


def checks_reading(policy: Policy, value: Value) -> tuple[str, ...]:
    """Names of the checks whose limits read a value directly."""
    return tuple(name for name, check in policy.checks.items() if any(_is(ref, value) for ref in limits_refs(check)))


def shifts(policy: Policy, value: Value, before: float, after: float, unit: str) -> Iterator[Shift]:
    """How every limit that reads a value moves when it goes from `before` to `after`, both in `unit`."""
    for name in checks_reading(policy, value):
        yield _shift(policy, policy.checks[name], value, before, after, unit)


def _shift(policy: Policy, check: Check, value: Value, before: float, after: float, unit: str) -> Shift:
    if sum(_is(ref, value) for ref in limits_refs(check)) != 1:
        return Shift(check.name)
    if check.times is not None and _is(check.times, value):
        # Whatever a limit is made of, the share multiplies the whole of it.
        return Shift(check.name, ratio=_ratio(before, after, unit))
    limit = next(one for one in check.limits if any(_is(ref, value) for ref in limit_refs(one)))
    multiplied = all(percent(policy, ref) for ref in (limit.less, limit.more) if ref is not None)
    if _is(limit.of, value):
        if check.times is None and limit.less is None and limit.more is None:
            return Shift(check.name, difference=(after - before) * UNITS[unit].factor)
        return Shift(check.name, ratio=_ratio(before, after, unit) if multiplied else None)
    if unit != "%" or not multiplied:
        return Shift(check.name)
    sign = -1.0 if limit.less is not None and _is(limit.less, value) else 1.0
    return Shift(check.name, ratio=_ratio(100.0 + sign * before, 100.0 + sign * after, "%"))


def _ratio(before: float, after: float, unit: str) -> float | None:
    """The ratio of two values that are multiplied into a limit; None where one is no factor."""
    return after / before if before > 0.0 and after > 0.0 and not UNITS[unit].offset else None


def _is(ref: Ref, value: Value) -> bool:
    return (ref.form, ref.name) == value
