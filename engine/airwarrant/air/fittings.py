"""Loss coefficients of area changes, openings and dampers, and velocity pressure: ``dp = C rho V^2/2``, total pressure."""

from math import pow, radians, sin, sqrt

from airwarrant.air.printed import Curve
from airwarrant.air.standard import STANDARD_DENSITY

# A public table by ratio of free to gross area, on face velocity; formulas for thin screens and perforated plates give
# a third to all of it.
GRILLE = Curve((0.2, 0.3, 0.4, 0.5, 0.6, 0.7), (50.0, 20.0, 10.0, 6.0, 4.0, 3.0))
# By blade angle [°], round. From memory of a handbook table, not confirmed: a second one differs by up to a third.
BUTTERFLY_DAMPER = Curve((0, 10, 20, 30, 40, 50, 60), (0.20, 0.52, 1.5, 4.5, 11.0, 29.0, 108.0))
EXIT = 1.0  # Borda-Carnot into a room
ENTRANCE = 0.5  # plain sharp-edged opening, the classical value; texts range from 0.35 to 0.57
_STEEP = 45.0  # °, included angle from which a taper loses as a step


def sudden_expansion(area_ratio: float) -> float:
    """Borda-Carnot coefficient on the upstream velocity; `area_ratio` is smaller over larger area, 0..1."""
    return (1.0 - area_ratio) ** 2


def gradual_expansion(area_ratio: float, angle: float) -> float:
    """Coefficient of a widening taper on the upstream velocity, included angle [°].

    Borda-Carnot times ``2.6 sin(angle/2)`` to 45°; from there it loses as a step.

    References
    ----------
    Crane TP-410, as in the fluids library. At 8° it gives 0.18 times the step; a public table gives 0.15 below 8°.
    """
    return sudden_expansion(area_ratio) * (2.6 * sin(radians(angle / 2.0)) if angle <= _STEEP else 1.0)


def sudden_contraction(area_ratio: float) -> float:
    """Coefficient ``0.5 (1 - ratio)`` on the downstream velocity; better formulas differ by 15 to 35 %."""
    return 0.5 * (1.0 - area_ratio)


def gradual_contraction(area_ratio: float, angle: float) -> float:
    """Coefficient of a narrowing taper on the downstream velocity, included angle [°].

    ``0.8 sin(angle/2) (1 - ratio)`` to 45°, from there ``0.5 sqrt(sin(angle/2)) (1 - ratio)``, which ends in the step
    at 180°.

    References
    ----------
    Crane TP-410, as in the fluids library.
    """
    half = sin(radians(angle / 2.0))
    return (0.8 * half if angle <= _STEEP else 0.5 * sqrt(half)) * (1.0 - area_ratio)


def rounded_entrance(radius_ratio: float) -> float:
    """Coefficient of a flush entrance with a rounded edge, by radius over diameter: ``0.5 / (1 + 36 r^1.2)``.

    References
    ----------
    Swamee and Sharma 2008, as in the fluids library.
    """
    return ENTRANCE / (1.0 + 36.0 * pow(radius_ratio, 1.2))


def velocity_pressure(velocity: float, density: float = STANDARD_DENSITY) -> float:
    """Velocity pressure [Pa] of air at a velocity [m/s]: ``rho V^2/2``; the trade's ``(V/4005)^2`` is 0.2 % above it."""
    return density * velocity**2 / 2.0
