"""Dampers on branches of one plenum: how far to close the ones there are, so that every room they serve gets its share."""

from collections.abc import Collection, Mapping

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def trimmed(
    resistance: Mapping[str, Floats], target: Mapping[str, float], dampers: Collection[str]
) -> Mapping[str, Floats]:
    """Resistance of every branch after its damper is set: the proportional method in closed form.

    On one plenum ``q = sqrt(p / K)``. Branches that stay open carry ``sqrt(p) · sum(K^-1/2)`` together; a trimmed one shall stand to
    its target as they stand to theirs together, so ``K' = (T / sum(K^-1/2))^2 / t^2`` with T the sum of their targets. The plenum's
    pressure drops out. The key run, the one shortest of its target, is never trimmed, and no damper opens a branch further.

    Parameters
    ----------
    resistance : mapping of branch to ndarray (sets,)
        [Pa/(m3/s)^2].
    target : mapping of branch to float
        In any one unit, above 0; branches without one stay as they are and count for nothing.
    dampers : collection of branch
        Branches that can be trimmed.

    Returns
    -------
    mapping of branch to ndarray (sets,)
        Those trimmed, with their new resistance.
    """
    rated = [name for name in resistance if target.get(name, 0.0) > 0.0]
    if not rated:
        return {}
    short = {name: float(resistance[name][0]) * target[name] ** 2 for name in rated}
    key = max(rated, key=lambda name: (short[name], name))
    closing = sorted(name for name in rated if name in dampers and name != key)
    while closing:
        still = [name for name in rated if name not in closing]
        conductance = np.sum([resistance[name] ** -0.5 for name in still], axis=0)
        level = (sum(target[name] for name in still) / conductance) ** 2
        shortest = max(closing, key=lambda name: (short[name], name))
        if short[shortest] < float(level[0]):
            return {name: np.maximum(level / target[name] ** 2, resistance[name]) for name in closing}
        # It stays as it is and counts among the open ones: the level rises, and with it what the next may be closed to.
        closing.remove(shortest)
    return {}
