"""Limits beyond everything that is read against them: a slipped sign or decimal point.

What a record may hold bounds each reading, and through steps of figures what they come to; where a step's bounds are not followed, nothing
is said.
"""

from collections.abc import Iterator
from math import inf

from airwarrant.errors import Fault
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.model import Check, Limit, Policy, Ref
from airwarrant.source.place import Place
from airwarrant.units import UNITS, to_si

#: Least and most, in SI.
_Bounds = tuple[float, float]


def odd_limits(policy: Policy) -> Iterator[Fault]:
    """Yield a warning for each value that is a limit by itself and that nothing a record may hold can reach."""
    for check in policy.checks.values():
        bounds = _bounds(policy, check.reading, check.each)
        if bounds is None or check.times is not None:
            continue
        for limit in check.limits:
            if limit.less is None and limit.more is None:
                yield from _beyond(policy, check, limit, bounds)


def _beyond(policy: Policy, check: Check, limit: Limit, bounds: _Bounds) -> Iterator[Fault]:
    low, high = bounds
    for name, value, unit, place in _values(policy, check, limit.of):
        scale, held = UNITS[unit], to_si(value, unit)
        if low <= held <= high:
            continue
        least, most = (f"{(end - scale.offset) / scale.factor:.4g}" for end in bounds)
        between = f"{least} or more" if high == inf else f"{least} to {most}"
        always = (held < low) == (check.must_be in ("at most", "below"))
        outcome = "every reading fails it" if always else "no reading can fail it"
        found = f"`{name}` is {value:g} {unit}, and what the check `{check.name}` reads is {between}: {outcome}"
        advice = "Look at the sign, the decimal point and the unit."
        yield Fault("odd-limit", found, f"{between} {unit}", place, name, advice)


def _values(policy: Policy, check: Check, ref: Ref) -> Iterator[tuple[str, float, str, Place]]:
    match ref.form:
        case "parameter":
            parameter = policy.parameters[ref.name]
            if not isinstance(parameter.value, str):
                yield ref.name, parameter.value, parameter.unit, parameter.keys["value"].place
        case "table":
            table = policy.tables[ref.name]
            for (_, value), place in zip(table.rows, table.row_places, strict=True):
                yield ref.name, value, table.unit, place
        case "quantity":
            yield check.name, ref.value, ref.unit, check.place


def _bounds(policy: Policy, ref: Ref, kind: str) -> _Bounds | None:
    """Least and most that a reference can come to; None where that is not known."""
    if ref.form == "quantity":
        return (value := to_si(ref.value, ref.unit)), value
    if ref.form not in ("field", "house", "figure"):
        return None
    own = KINDS[HOUSE_KEY if ref.form == "house" else kind].fields.get(ref.name)
    figure = None if own else policy.figures.get(ref.name)
    if figure is None:
        field = own or KINDS[HOUSE_KEY].fields.get(ref.name)
        if field is None or field.hard is None:
            return None
        low, high = (to_si(end, field.unit) for end in field.hard)
        return low, high
    parts = [_bounds(policy, part, figure.each) for part in figure.refs]
    known = [part for part in parts if part is not None]
    if len(known) < len(parts) or not known:
        return None
    lows, highs = [low for low, _ in known], [high for _, high in known]
    match figure.step:
        case "size_of":
            low, high = known[0]
            return 0.0 if low <= 0.0 <= high else min(abs(low), abs(high)), max(abs(low), abs(high))
        case "larger_of":
            return max(lows), max(highs)
        case "smaller_of":
            return min(lows), min(highs)
        case "largest_known_of" | "first_known_of":
            return min(lows), max(highs)
        case "sum_of":
            return sum(lows), sum(highs)
        case "difference_of":
            return lows[0] - sum(highs[1:]), highs[0] - sum(lows[1:])
        case "gap_between":
            return 0.0, max(highs[0] - sum(lows[1:]), sum(highs[1:]) - lows[0])
        case "ratio_of" | "share_of" if min(lows) >= 0.0:
            return lows[0] / highs[1] if highs[1] else 0.0, highs[0] / lows[1] if lows[1] else inf
        case _:
            return None
