"""A blower's table of static and flow, read between its rows and, flagged, beyond them."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, isfinite

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class CurveError(ValueError):
    """A blower's table that cannot be one."""


@dataclass(frozen=True, slots=True)
class BlowerCurve:
    """Flow of a blower as a function of its external static pressure: monotone, with a slope everywhere.

    Between rows a monotone cubic (PCHIP); below the first and above the last row a straight line with the slope at that row,
    above never less than no flow. A constant-airflow plateau is therefore exactly flat. Make one with `of_rows`.

    Attributes
    ----------
    statics, flows : tuple of float
        Rows of the table, static [Pa] rising, flow [m3/s] not rising.
    breaks : tuple of float
        Statics [Pa] at which the next piece begins; piece 0 lies below the first row.
    pieces : tuple of (float, float, float, float, float)
        Per piece its origin s0 [Pa] and coefficients of ``c0 + c1 t + c2 t^2 + c3 t^3`` with ``t = static - s0``.

    References
    ----------
    F. N. Fritsch and J. Butland, "A Method for Constructing Local Monotone Piecewise Cubic Interpolants", SIAM J. Sci. Stat.
    Comput. 5 (1984) 300-304. End slopes: three-point formula, limited as in C. Moler, Numerical Computing with MATLAB (2004), 3.4.
    """

    statics: tuple[float, ...]
    flows: tuple[float, ...]
    breaks: tuple[float, ...]
    pieces: tuple[tuple[float, float, float, float, float], ...]

    @staticmethod
    def held(flow: float) -> "BlowerCurve":
        """Build a curve that moves `flow` [m3/s] whatever the static, up to ten inches of water."""
        return BlowerCurve.of_rows([(0.0, flow), (2500.0, flow)])

    @staticmethod
    def of_rows(rows: Sequence[tuple[float, float]]) -> "BlowerCurve":
        """Build the curve from rows of (static [Pa], flow [m3/s]) in any order.

        Raises
        ------
        CurveError
            Fewer than two rows, a number that is not finite, a negative flow, two rows at one static, or a flow that rises with
            static.
        """
        ordered = sorted((float(s), float(q)) for s, q in rows)
        _refuse_impossible(ordered)
        s = tuple(row[0] for row in ordered)
        q = tuple(row[1] for row in ordered)
        d = _slopes(s, q)
        pieces = [(s[0], q[0], d[0], 0.0, 0.0)]
        for i in range(len(s) - 1):
            width = s[i + 1] - s[i]
            secant = (q[i + 1] - q[i]) / width
            c2 = (3.0 * secant - 2.0 * d[i] - d[i + 1]) / width
            c3 = (d[i] + d[i + 1] - 2.0 * secant) / width**2
            pieces.append((s[i], q[i], d[i], c2, c3))
        pieces.append((s[-1], q[-1], d[-1], 0.0, 0.0))
        if q[-1] == 0.0:
            no_flow = s[-1]
        else:
            no_flow = s[-1] - q[-1] / d[-1] if d[-1] < 0.0 else inf
        pieces.append((s[-1], 0.0, 0.0, 0.0, 0.0))
        return BlowerCurve(s, q, (*s, no_flow), tuple(pieces))

    def flow_and_slope(self, static: float) -> tuple[float, float]:
        """Flow [m3/s] and its derivative [m3/s/Pa], never positive, at one static [Pa]."""
        s0, c0, c1, c2, c3 = self.pieces[bisect_right(self.breaks, static)]
        t = static - s0
        return c0 + t * (c1 + t * (c2 + t * c3)), min(c1 + t * (2.0 * c2 + t * 3.0 * c3), 0.0)

    def flows_and_slopes(self, static: Floats) -> tuple[Floats, Floats]:
        """Flow [m3/s] and derivative [m3/s/Pa] at many statics [Pa], in the shape of `static`."""
        piece = np.searchsorted(self.breaks, static, side="right")
        s0, c0, c1, c2, c3 = np.array(self.pieces).T[:, piece]
        t = static - s0
        return c0 + t * (c1 + t * (c2 + t * c3)), np.minimum(c1 + t * (2.0 * c2 + t * 3.0 * c3), 0.0)

    def scaled(self, factor: float) -> "BlowerCurve":
        """The same table with every flow multiplied by `factor` > 0."""
        if not (isfinite(factor) and factor > 0.0):
            raise CurveError(f"a blower's flow cannot be scaled by {factor!r}; only by a finite number above 0")
        pieces = tuple((s0, c0 * factor, c1 * factor, c2 * factor, c3 * factor) for s0, c0, c1, c2, c3 in self.pieces)
        return BlowerCurve(self.statics, tuple(q * factor for q in self.flows), self.breaks, pieces)

    def beyond(self, static: float) -> float:
        """How far a static lies beyond the table, in spacings of the two rows at that end; 0 within the table."""
        s = self.statics
        if static < s[0]:
            return (s[0] - static) / (s[1] - s[0])
        if static > s[-1]:
            return (static - s[-1]) / (s[-1] - s[-2])
        return 0.0


def _refuse_impossible(rows: list[tuple[float, float]]) -> None:
    if len(rows) < 2:
        raise CurveError(f"a blower's table needs two rows or more; found {len(rows)}")
    for static, flow in rows:
        if not (isfinite(static) and isfinite(flow)):
            raise CurveError(f"a blower's row must be finite; found static {static!r}, flow {flow!r}")
        if flow < 0.0:
            raise CurveError(f"a blower's flow is never below 0; found {flow!r} at static {static!r}")
    for (s0, q0), (s1, q1) in pairwise(rows):
        if s0 == s1:
            raise CurveError(f"two rows of a blower's table at one static: {s0!r}")
        if q1 > q0:
            raise CurveError(f"a blower's flow cannot rise with static; found {q0!r} at {s0!r} and {q1!r} at {s1!r}")


def _slopes(s: tuple[float, ...], q: tuple[float, ...]) -> list[float]:
    width = [b - a for a, b in pairwise(s)]
    secant = [(b - a) / w for a, b, w in zip(q, q[1:], width, strict=False)]
    if len(secant) == 1:
        return [secant[0], secant[0]]
    inner = []
    for w0, w1, m0, m1 in zip(width, width[1:], secant, secant[1:], strict=False):
        if m0 == 0.0 or m1 == 0.0:
            inner.append(0.0)
        else:
            near, far = 2.0 * w1 + w0, w1 + 2.0 * w0
            inner.append((near + far) / (near / m0 + far / m1))
    first = _end_slope(width[0], width[1], secant[0], secant[1])
    last = _end_slope(width[-1], width[-2], secant[-1], secant[-2])
    return [first, *inner, last]


def _end_slope(w0: float, w1: float, m0: float, m1: float) -> float:
    # The limit of three secants holds the end piece monotone whether or not the next secant is steeper.
    slope = ((2.0 * w0 + w1) * m0 - w0 * m1) / (w0 + w1)
    return max(min(slope, 0.0), 3.0 * m0)
