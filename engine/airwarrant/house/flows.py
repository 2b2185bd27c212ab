"""Blower flow and the leak of each side from all readings that speak of them: weighted least squares with normalised residuals.

Three unknowns, up to seven readings, all linear in the unknowns once the blower's table has been read at the measured static.
"""

from dataclasses import dataclass
from math import erfc, exp, pi, sqrt

import numpy as np

from airwarrant.air.leakage import return_leak_fraction
from airwarrant.house.inputs import Floats

#: A reading this many standard deviations from what the others say of it is a contradiction (2.5: one in eighty by chance).
CONFLICT = 2.5
#: Readings less likely together than this are in conflict, even if none stands out.
UNLIKELY = 0.05
TEST_PRESSURE = 25.0
LEAK_EXPONENT = 0.6
_LEAST = 1e-6
_FIRM = 1e6


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
    sd : tuple of float
        One standard deviation of the three at the point [m3/s].
    """

    flow: Floats
    return_leak: Floats
    supply_leak: Floats
    residuals: dict[str, float]
    chi_square_p: float | None
    sd: tuple[float, float, float]

    @property
    def worst(self) -> tuple[str, str] | None:
        """The two readings furthest from each other, the worse first; None where nothing is in conflict."""
        # Readings that stand equally far off are told in one order, whatever the last digits say.
        ranked = sorted(self.residuals.items(), key=lambda r: (-round(abs(r[1]), 6), r[0]))
        agree = self.chi_square_p is None or self.chi_square_p >= UNLIKELY
        if len(ranked) < 2 or (abs(ranked[0][1]) <= CONFLICT and agree):
            return None
        against = [name for name, value in ranked[1:] if value * ranked[0][1] < 0.0]
        return ranked[0][0], (against or [ranked[1][0]])[0]


def settle_flows(rows: list[Row], sets: int) -> Flows:
    """Solve for the three unknowns in every set.

    A leak that would come out below 0 is held at nothing, and the others are solved again with it.

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
    found = np.linalg.solve(normal, right[..., None])[..., 0]
    held = np.zeros(found.shape, dtype=bool)
    for _ in range(2):  # holding one leak may turn the other
        below = found < np.array([-np.inf, 0.0, 0.0])
        if not below.any():
            break
        held |= below
        firm = np.where(held, _FIRM * weight.max(), 0.0)
        found = np.linalg.solve(normal + firm[:, :, None] * np.eye(3), right[..., None])[..., 0]
        found = np.where(held, 0.0, found)
    flow = np.maximum(found[:, 0], _LEAST)
    back, ahead = (np.clip(found[:, i], _LEAST, 0.9 * flow) for i in (1, 2))
    covariance = np.linalg.inv(normal[0])
    residuals, p = _residuals(rows, a[:, :, 0], b[:, 0], np.array([flow[0], back[0], ahead[0]]), covariance)
    sd = tuple(float(sqrt(covariance[i, i])) for i in range(3))
    return Flows(flow, back, ahead, residuals, p, (sd[0], sd[1], sd[2]))


def _residuals(
    rows: list[Row], a: Floats, b: Floats, found: Floats, covariance: Floats
) -> tuple[dict[str, float], float | None]:
    off = b - a @ found
    residuals = {}
    for row, gap, weights in zip(rows, off, a, strict=True):
        spread = row.sd**2 - float(weights @ covariance @ weights)
        # A row that alone decides an unknown has nothing to be checked against.
        if spread > 1e-3 * row.sd**2 and not row.assumed:
            residuals[row.name] = float(gap) / sqrt(spread)
    free = len(rows) - 3
    if free < 1:
        return residuals, None
    return residuals, chi_square_above(float(sum((off / [row.sd for row in rows]) ** 2)), free)


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


def leak_of_test(at_25: Floats, pressure: Floats) -> Floats:
    """Leak [m3/s] while running from a leakage test at 25 Pa and the pressure [Pa] where the leak sits."""
    return np.asarray(at_25 * (pressure / TEST_PRESSURE) ** LEAK_EXPONENT)


def place_of_leak(leak: Floats, at_25: Floats) -> Floats:
    """Pressure [Pa] at which a leak must sit to lose what it loses: ``25 (L / cfm25)^(1/0.6)``."""
    return np.asarray(TEST_PRESSURE * (leak / at_25) ** (1.0 / LEAK_EXPONENT))


def temperature_share(grille: Floats, unit: Floats, source: Floats) -> Floats:
    """Share of the blower's air that leaks in on the return side, by the temperatures in K; within 0..0.9."""
    return np.asarray(np.clip(return_leak_fraction(grille, unit, source), 0.0, 0.9))
