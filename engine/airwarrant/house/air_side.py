"""What the solved air network hands on, and the form in which readings derived from it come back: arrays over sets.

A set is one guess at all uncertain inputs together; see `inputs`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class AirSide:
    """Air of the house after some work at one fan setting, SI, every array (sets,).

    Attributes
    ----------
    flow, register_flow, grille_flow : ndarray
        Through the blower, all registers and all return grilles [m3/s], of the air as it is at the house's altitude.
    supply_leak, return_leak : ndarray
        Lost and drawn in on the way [m3/s], 0 or more.
    static : ndarray
        External static pressure [Pa].
    power : ndarray or None
        Of the blower [W]; None where no table or reading tells it.
    """

    flow: Floats
    register_flow: Floats
    grille_flow: Floats
    supply_leak: Floats
    return_leak: Floats
    static: Floats
    power: Floats | None = None


@dataclass(frozen=True, slots=True)
class Derived:
    """Readings worked out from an `AirSide`.

    Attributes
    ----------
    values : mapping of (key, field) to (ndarray, str)
        SI values (sets,) and the unit they are shown in. What could not be worked out is absent.
    notes : tuple of str
        What is absent and for want of which input; where a formula left its range.
    assumed : tuple of str
        What was taken from policy or by rule because the record does not say it.
    """

    values: Mapping[tuple[str, str], tuple[Floats, str]]
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
