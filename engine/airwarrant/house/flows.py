"""Blower flow and the leak of each side from all readings that speak of them: weighted least squares with normalised residuals.

Three unknowns, up to seven readings, all linear in the unknowns once the blower's table has been read at the measured static.
"""

from dataclasses import dataclass
from math import erfc, exp, pi, sqrt

import numpy as np

from airwarrant.air.leakage import return_leak_fraction
from airwarrant.house.inputs import Floats

_LEAST = 1e-6


@dataclass(frozen=True, slots=True)
class Row:
    """One reading as a linear equation ``weights · (flow, return leak, supply leak) = value``.

    Attributes
    ----------
    name : str
        ``house.register_flow`` and the like.
    weights : tuple of ndarray or float
        Coefficients of the three unknowns, each (sets,) or one number.
    value : ndarray (sets,)
        [m3/s].
    sd : float
        One standard deviation [m3/s].
    assumed : bool
        No reading but what policy takes where there is none: it is never in conflict.
    """

    name: str
    weights: tuple[Floats | float, Floats | float, Floats | float]
    value: Floats
    sd: float
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Agreement:
    """What policy calls a contradiction: a reading so many standard deviations off, or readings together less likely than so."""

    apart: float
    chance: float


@dataclass(frozen=True, slots=True)
class Flows:
    """What the readings come to together.

    Attributes
    ----------
    flow, return_leak, supply_leak : ndarray (sets,)
        [m3/s].
    residuals : mapping of str to float
        Each reading's residual at the point over its own standard deviation; those that nothing else checks are left out, and so
        is what was assumed.
    chi_square_p : float or None
        Chance of so much disagreement if all readings are as good as they say; None where nothing can disagree.
    worst : (str, str) or None
        Where readings are in conflict: the one furthest off, and the one whose error would explain that best.
    sd : tuple of float
        One standard deviation of the three at the point [m3/s].
    """

    flow: Floats
    return_leak: Floats
    supply_leak: Floats
    residuals: dict[str, float]
    chi_square_p: float | None
    worst: tuple[str, str] | None
    sd: tuple[float, float, float]


def settle_flows(rows: list[Row], sets: int, agreement: Agreement) -> Flows:
    """Solve for the three unknowns in every set; no leak is below 0.

    Parameters
    ----------
    rows : list of Row
        At least one with a share of each unknown; weak rows for leaks that nobody read belong to the caller.
    sets : int
    """
    a = np.stack([np.stack([np.broadcast_to(w, (sets,)) for w in row.weights]) for row in rows])
    b = np.stack([row.value for row in rows])
    weight = np.array([1.0 / row.sd**2 for row in rows])
    normal = np.einsum("ris,r,rjs->sij", a, weight, a)
    right = np.einsum("ris,r,rs->si", a, weight, b)
    found = _not_below_nothing(normal, right)
    flow = np.maximum(found[:, 0], _LEAST)
    back, ahead = (np.clip(found[:, i], _LEAST, 0.9 * flow) for i in (1, 2))
    free = np.array([True, found[0, 1] > 0.0, found[0, 2] > 0.0])
    covariance = np.zeros((3, 3))
    covariance[np.ix_(free, free)] = np.linalg.inv(normal[0][np.ix_(free, free)])
    point = np.array([flow[0], back[0], ahead[0]])
    told = _residuals(rows, a[:, :, 0], b[:, 0], point, covariance, int(free.sum()), agreement)
    sd = np.sqrt(np.diag(np.linalg.inv(normal[0])))
    return Flows(flow, back, ahead, *told, (float(sd[0]), float(sd[1]), float(sd[2])))


def _not_below_nothing(normal: Floats, right: Floats) -> Floats:
    """Least squares with the two leaks held at 0 or above, (sets, 3): of all ways to hold them the one that fits best."""
    found = np.linalg.solve(normal, right[..., None])[..., 0]
    below = np.flatnonzero((found[:, 1:] < 0.0).any(axis=1))
    if not len(below):
        return np.asarray(found)
    n, r = normal[below], right[below]
    best, least = np.zeros((len(below), 3)), np.full(len(below), np.inf)
    for free in ([0], [0, 1], [0, 2]):
        trial = np.zeros((len(below), 3))
        trial[:, free] = np.linalg.solve(n[:, free][:, :, free], r[:, free, None])[..., 0]
        misfit = np.einsum("si,sij,sj->s", trial, n, trial) - 2.0 * np.einsum("si,si->s", trial, r)
        better = (trial >= 0.0)[:, 1:].all(axis=1) & (misfit < least)
        best[better], least[better] = trial[better], misfit[better]
    found[below] = best
    return np.asarray(found)


def _residuals(
    rows: list[Row],
    a: Floats,
    b: Floats,
    found: Floats,
    covariance: Floats,
    unknowns: int,
    agreement: Agreement,
) -> tuple[dict[str, float], float | None, tuple[str, str] | None]:
    """Normalised residuals, the chance of all of them together, and the pair in conflict."""
    off = b - a @ found
    variance = np.array([row.sd**2 for row in rows])
    left = np.diag(variance) - a @ covariance @ a.T
    # A row that alone decides an unknown has nothing to be checked against.
    checked = [i for i, row in enumerate(rows) if left[i, i] > 1e-3 * variance[i] and not row.assumed]
    sds = {i: sqrt(left[i, i]) for i in checked}
    residuals = {rows[i].name: float(off[i]) / sds[i] for i in checked}
    free = len(rows) - unknowns
    p = chi_square_above(float(np.sum(off**2 / variance)), free) if free >= 1 else None
    if len(checked) < 2:
        return residuals, p, None
    # Readings that stand equally far off are told in one order, whatever the last digits say.
    first = min(checked, key=lambda i: (-round(abs(residuals[rows[i].name]), 6), rows[i].name))
    own = residuals[rows[first].name]
    if abs(own) <= agreement.apart and (p is None or p >= agreement.chance):
        return residuals, p, None

    def explains(i: int) -> float:
        """How much of the first residual an error of this reading would make."""
        return float(left[first, i] / (sds[first] * sds[i])) * residuals[rows[i].name] * own

    second = min((i for i in checked if i != first), key=lambda i: (-round(explains(i), 6), rows[i].name))
    return residuals, p, (rows[first].name, rows[second].name)


def chi_square_above(value: float, free: int) -> float:
    """Chance that chi-square of `free` degrees lies above `value`; the finite sums of Abramowitz and Stegun 26.4.4 and 26.4.5."""
    half = value / 2.0
    if free % 2 == 0:
        term = total = exp(-half)
        for i in range(1, free // 2):
            term *= half / i
            total += term
        return total
    root = sqrt(value)
    total, term = erfc(root / sqrt(2.0)), sqrt(2.0 / pi) * exp(-half) * root
    for i in range(1, free // 2 + 1):
        total += term
        term *= value / (2.0 * i + 1.0)
    return total


def temperature_share(grille: Floats, unit: Floats, source: Floats) -> Floats:
    """Share of the blower's air that leaks in on the return side, by the temperatures in K; within 0..0.9."""
    return np.asarray(np.clip(return_leak_fraction(grille, unit, source), 0.0, 0.9))
