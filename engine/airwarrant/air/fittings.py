"""Loss coefficients of fittings: total pressure lost over the velocity pressure, ``dp = C rho V^2/2``.

Tables are linear between their points; beyond them the end value stands, and the caller says so.
"""

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from airwarrant.air.standard import STANDARD_DENSITY


@dataclass(frozen=True, slots=True)
class Curve:
    """A printed column: coefficient by one ratio or angle."""

    at: tuple[float, ...]
    value: tuple[float, ...]

    def __call__(self, x: float) -> float:
        """Value at x, linear between the points, the end value beyond them."""
        if x <= self.at[0]:
            return self.value[0]
        if x >= self.at[-1]:
            return self.value[-1]
        i = bisect_right(self.at, x)
        share = (x - self.at[i - 1]) / (self.at[i] - self.at[i - 1])
        return self.value[i - 1] + share * (self.value[i] - self.value[i - 1])

    def holds(self, x: float) -> bool:
        """Whether x lies within the printed points."""
        return self.at[0] <= x <= self.at[-1]


# SMACNA HVAC Systems Duct Design, 4th ed., tables A-7A, A-7B, A-7C, A-7D; each from a secondary copy. The gored values agree
# with ASHRAE CD3-12.
SMOOTH_ELBOW = Curve((0.5, 0.75, 1.0, 1.5, 2.0, 2.5), (0.71, 0.33, 0.22, 0.15, 0.13, 0.12))
ELBOW_ANGLE = Curve(
    (20, 30, 45, 60, 75, 90, 110, 130, 150, 180), (0.31, 0.45, 0.60, 0.78, 0.90, 1.0, 1.13, 1.2, 1.28, 1.4)
)
MITRED_ELBOW = Curve((20, 30, 45, 60, 75, 90), (0.08, 0.16, 0.34, 0.55, 0.81, 1.2))
RECTANGULAR_MITRED_ELBOW = Curve((0.25, 1.0, 4.0), (1.3, 1.2, 0.92))
GORED_ELBOW: Mapping[int, Curve] = MappingProxyType(
    {
        3: Curve((0.5, 0.75, 1.0, 1.5, 2.0), (0.98, 0.54, 0.42, 0.34, 0.33)),
        4: Curve((0.75, 1.0, 1.5, 2.0), (0.50, 0.37, 0.27, 0.24)),
        5: Curve((0.75, 1.0, 1.5, 2.0), (0.46, 0.33, 0.24, 0.19)),
    }
)
# A public table by ratio of free to gross area, on face velocity; two perforated-plate formulas agree within a factor of 1.6.
GRILLE = Curve((0.2, 0.3, 0.4, 0.5, 0.6, 0.7), (50.0, 20.0, 10.0, 6.0, 4.0, 3.0))
EXIT = 1.0  # Borda-Carnot into a room
ENTRANCE = 0.5  # plain sharp-edged opening, the classical value; texts range from 0.35 to 0.57


def sudden_expansion(area_ratio: float) -> float:
    """Borda-Carnot coefficient on the upstream velocity; `area_ratio` is smaller over larger area, 0..1."""
    return (1.0 - area_ratio) ** 2


def sudden_contraction(area_ratio: float) -> float:
    """Coefficient ``0.5 (1 - ratio)`` on the downstream velocity; better formulas differ by 15 to 35 %."""
    return 0.5 * (1.0 - area_ratio)


def velocity_pressure(velocity: float, density: float = STANDARD_DENSITY) -> float:
    """Velocity pressure [Pa] of air at a velocity [m/s]: ``rho V^2/2``; the trade's ``(V/4005)^2`` is 0.2 % above it."""
    return density * velocity**2 / 2.0
