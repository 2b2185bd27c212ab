"""Whether one reading could give several checks the words they have: it is not below one limit and above a higher one."""

from collections.abc import Mapping
from math import inf

from airwarrant.policy.model import Check, Policy
from airwarrant.units import to_si

_UPPER = ("at most", "below")


def readable(policy: Policy, verdicts: Mapping[tuple[str, str, str], frozenset[str]]) -> bool:
    """Whether no two words contradict each other as numbers.

    Parameters
    ----------
    policy : Policy
        Only checks against one plain limit, a parameter or a quantity, are looked at.
    verdicts : mapping of (check, time, subject) to the words still possible
        Words that are not settled say nothing.
    """
    bounds: dict[tuple[str, str, str], tuple[float, float]] = {}
    for (name, time, key), words in verdicts.items():
        word = next(iter(words)) if len(words) == 1 else ""
        check = policy.checks.get(name)
        found = limit_of(policy, check) if check is not None and word in ("pass", "fail") else None
        if check is None or found is None:
            continue
        reading = (check.reading.name, time, key)
        low, high = bounds.get(reading, (-inf, inf))
        below = (word == "pass") is (check.must_be in _UPPER)
        low, high = (low, min(high, found)) if below else (max(low, found), high)
        if low >= high:
            return False
        bounds[reading] = (low, high)
    return True


def limit_of(policy: Policy, check: Check) -> float | None:
    """The one number a check is held against, in SI, where it is the same for every job."""
    if len(check.limits) != 1 or check.times is not None or check.limits[0].less or check.limits[0].more:
        return None
    ref = check.limits[0].of
    if ref.form == "quantity":
        return to_si(ref.value, ref.unit)
    parameter = policy.parameters.get(ref.name) if ref.form == "parameter" else None
    if parameter is None or isinstance(parameter.value, str):
        return None
    return to_si(float(parameter.value), parameter.unit)
