"""The closed list of steps a figure may take, with the ± that follows from its parts.

Steps work in SI on independent parts; the ± (coverage 2) is linear propagation, JCGM 100:2008 eq. 10 for uncorrelated
inputs: root of the sum of squares of each part's ± times its sensitivity.
"""

from collections.abc import Callable, Sequence
from math import hypot, prod

Part = tuple[float, float]  # value, plus_minus, both SI


def _size_of(parts: Sequence[Part]) -> Part:
    ((value, doubt),) = parts
    return abs(value), doubt


def _larger_of(parts: Sequence[Part]) -> Part:
    return max(parts)


def _smaller_of(parts: Sequence[Part]) -> Part:
    return min(parts)


def _sum_of(parts: Sequence[Part]) -> Part:
    return sum(v for v, _ in parts), hypot(*(d for _, d in parts))


def _difference_of(parts: Sequence[Part]) -> Part:
    first, *rest = parts
    return first[0] - sum(v for v, _ in rest), hypot(*(d for _, d in parts))


def _gap_between(parts: Sequence[Part]) -> Part:
    value, doubt = _difference_of(parts)
    return abs(value), doubt


def _first(parts: Sequence[Part]) -> Part:
    return parts[0]


def _ratio_of(parts: Sequence[Part]) -> Part:
    (a, da), (b, db) = parts
    return a / b, hypot(da / b, a * db / b**2)


def _product_of(parts: Sequence[Part]) -> Part:
    whole = prod(v for v, _ in parts)
    others = [prod(v for j, (v, _) in enumerate(parts) if j != i) for i in range(len(parts))]
    return whole, hypot(*(d * other for (_, d), other in zip(parts, others, strict=True)))


STEPS: dict[str, Callable[[Sequence[Part]], Part]] = {
    "size_of": _size_of,
    "larger_of": _larger_of,
    "smaller_of": _smaller_of,
    "largest_known_of": _larger_of,
    "first_known_of": _first,
    "sum_of": _sum_of,
    "sum_over": _sum_of,
    "difference_of": _difference_of,
    "gap_between": _gap_between,
    "ratio_of": _ratio_of,
    "share_of": _ratio_of,
    "product_of": _product_of,
}


def take_step(step: str, parts: Sequence[Part]) -> Part | None:
    """Value and ± of one step, SI.

    Parameters
    ----------
    step : str
        One of `STEPS`.
    parts : sequence of (value, plus_minus)
        SI; at least one.

    Returns
    -------
    (value, plus_minus) or None
        None where the step has no answer: a ratio to zero.
    """
    if step in ("ratio_of", "share_of") and parts[1][0] == 0.0:
        return None
    return STEPS[step](parts)
