"""Air through openings of a house: doors, undercuts, transfer grilles."""

from __future__ import annotations

from math import pi, sqrt
from typing import TYPE_CHECKING, TypeVar

from airwarrant.air.elementwise import power

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Amount = TypeVar("Amount", float, NDArray[float64])

#: Density [kg/m3] on which the published discharge coefficients rest.
OPENING_DENSITY = 1.2
#: Discharge coefficient of an inside door's gaps and grilles, where none is given (BSC RR-0005: 1.07 A sqrt(dP) in cfm, in2, Pa).
DISCHARGE = 0.606
#: The transfer-grille law of BSC RR-0005, ``Q = 1.07 A sqrt(dP)`` in cfm, in2 and Pa, as m3/s per m2 and root Pa.
_TRANSFER = 1.07 * (0.3048**3 / 60.0) / 0.0254**2


def opening_resistance(area: Amount, discharge: float) -> Amount:
    """Resistance k [Pa/(m3/s)^2] of an opening of a free area [m2]: ``rho/2 / (Cd A)^2``. Numbers or arrays.

    Published Cd run from 0.606 (Building Science Corporation) to 0.65 (smoke control).
    """
    return OPENING_DENSITY / 2.0 / (discharge * area) ** 2


def opening_area(resistance: Amount, discharge: float) -> Amount:
    """Free area [m2] of an opening of a resistance [Pa/(m3/s)^2], the inverse of `opening_resistance`. Numbers or arrays."""
    return power(OPENING_DENSITY / 2.0 / resistance, 0.5) / discharge


def opening_pressure(flow: float, area: float, discharge: float) -> float:
    """Pressure [Pa] across an opening of a free area [m2] at a flow [m3/s]: ``dP = rho/2 (Q / (Cd A))^2``."""
    return opening_resistance(area, discharge) * flow**2


def transfer_area(flow: float, pressure: float) -> float:
    """Free area [m2] that carries a flow [m3/s] at a pressure [Pa]: ``A = Q / (1.07 sqrt(dP))`` in cfm, in2, Pa.

    References
    ----------
    Building Science Corporation, RR-0005, Transfer Ducts and Grilles.
    """
    return flow / (_TRANSFER * sqrt(pressure))


def round_of_area(area: float) -> float:
    """Diameter [m] of a circle of an area [m2]."""
    return sqrt(4.0 * area / pi)
