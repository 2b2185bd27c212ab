"""Which way a limit, a figure or a value went from one policy to another, by what it is made of."""

from airwarrant.policy.model import Check, Figure, Limit, Parameter, Policy, Ref
from airwarrant.policy.rests_on import percent
from airwarrant.replay.slopes import Slope, Slopes
from airwarrant.units import to_si


def with_value(slope: Slope, before: float | None, after: float | None) -> Slope:
    """Which way a number goes with a value that goes from `before` to `after`."""
    if before is None or after is None or before == after:
        return 0
    return opposed(slope, 1 if after > before else -1)


def opposed(slope: Slope, way: Slope) -> Slope:
    """Which way a number goes whose part goes `way`: against it where it falls as the part rises."""
    if slope == 0 or way == 0:
        return 0
    return None if slope is None or way is None else 1 if slope == way else -1


def si(parameter: Parameter) -> float:
    """The value of a parameter that is a number, in SI."""
    return to_si(float(parameter.value), parameter.unit)


def figure_moved(old: Figure, new: Figure) -> Slope:
    """Which way a figure went by its step; None where that is not known."""
    chosen = ("smaller_of", "larger_of")
    if (old.each, old.over, old.take) != (new.each, new.over, new.take) or {old.step, new.step} - set(chosen):
        return None
    if old.refs == new.refs:
        return 0 if old.step == new.step else 1 if new.step == "larger_of" else -1
    added, gone = set(new.refs) - set(old.refs), set(old.refs) - set(new.refs)
    if old.step != new.step or bool(added) == bool(gone):
        return None
    return 1 if (old.step == "larger_of") == bool(added) else -1


def limit_moved(a: Policy, b: Policy, old: Check, new: Check) -> Slope:
    """Which way the limit of a check went as its text became another; each side is valued by its own policy."""
    if _limit_text(old) == _limit_text(new):
        return 0
    limits = _known_limits(a, old), _known_limits(b, new)
    if all(limits):
        before, after = (
            (min if _lowest(old, check) else max)(known) for known, check in zip(limits, (old, new), strict=True)
        )
        return with_value(1, before, after)
    if old.limits == new.limits and old.choose == new.choose:
        return _share_moved(a, b, old, new)
    if old.times != new.times:
        return None
    added, gone = set(new.limits) - set(old.limits), set(old.limits) - set(new.limits)
    lowest = [_lowest(old, check) for check in (old, new) if len(check.limits) > 1]
    if not lowest:
        return None
    if not added and not gone:
        return 0 if lowest[0] == lowest[-1] else -1 if lowest[-1] else 1
    if (added and gone) or len(set(lowest)) > 1:
        return None
    return -1 if lowest[0] == bool(added) else 1


def judged_whole(a: Policy, b: Policy, old: Check, new: Check | None) -> bool:
    """Whether `limit_moved` holds both limits of a check against each other by number, so that no value of theirs need be told besides."""
    if new is None or _limit_text(old) == _limit_text(new):
        return False
    return bool(_known_limits(a, old) and _known_limits(b, new))


def _limit_text(check: Check) -> tuple[object, ...]:
    return check.limits, check.choose, check.times


def _share_moved(a: Policy, b: Policy, old: Check, new: Check) -> Slope:
    """Which way a limit went that is multiplied by another share."""
    before, after = (
        1.0 if check.times is None else _number(policy, check.times) for policy, check in ((a, old), (b, new))
    )
    bases = tuple(limit.of for limit in old.limits)
    if before is None or after is None or not Slopes(a, ("", "")).positive(bases, old.each):
        return None
    return with_value(1, before, after)


def _known_limits(policy: Policy, check: Check) -> list[float]:
    """Every limit of a check in SI; none where one of them is made of readings or figures."""
    limits = [_known(policy, limit, check.times) for limit in check.limits]
    known = [limit for limit in limits if limit is not None]
    return known if len(known) == len(limits) else []


def _known(policy: Policy, limit: Limit, times: Ref | None) -> float | None:
    value = _number(policy, limit.of)
    for ref, sign in ((limit.less, -1.0), (limit.more, 1.0)):
        if value is None or ref is None:
            continue
        change = _number(policy, ref)
        if change is None:
            return None
        value = value * (1.0 + sign * change) if percent(policy, ref) else value + sign * change
    share = 1.0 if times is None else _number(policy, times)
    return None if value is None or share is None else value * share


def _number(policy: Policy, ref: Ref) -> float | None:
    if ref.form == "quantity":
        return to_si(ref.value, ref.unit)
    parameter = policy.parameters.get(ref.name) if ref.form == "parameter" else None
    return None if parameter is None or isinstance(parameter.value, str) else si(parameter)


def _lowest(sense: Check, check: Check) -> bool:
    """Whether the lowest of a check's limits governs, where it is held to the sense of another."""
    return (sense.must_be in ("at most", "below")) == (check.choose != "loosest_limit")
