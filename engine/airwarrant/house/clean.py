"""What parts of an air path would lose in good order, from their sizes: beside a measured drop it tells a crushed duct."""

from math import pi

from airwarrant.air.elbows import SMOOTH_ELBOW
from airwarrant.air.fittings import ENTRANCE, EXIT, velocity_pressure
from airwarrant.air.friction import ROUGHNESS, compression_factor, friction
from airwarrant.air.standard import STANDARD_DENSITY

#: Flow exponent of a long duct: the friction factor falls a little with the flow.
DUCT_EXPONENT = 1.9
#: Flow exponent of fittings, openings, boxes.
FITTING_EXPONENT = 2.0
_MATERIALS = {"flex": "flex", "metal": "galvanized", "duct-board": "duct-board", "lined": "lined"}


def duct_loss(
    flow: float,
    diameter: float,
    length: float,
    *,
    material: str = "flex",
    bends: float = 1.0,
    compression: float = 0.04,
    density: float = STANDARD_DENSITY,
) -> float:
    """Total pressure [Pa] that a round duct loses with its entry, bends and exit.

    Parameters
    ----------
    flow : float
        [m3/s], above 0.
    diameter, length : float
        [m].
    material : {"flex", "metal", "duct-board", "lined"}
    bends : float
        Quarter turns of a radius of one diameter.
    compression : float
        Share of the extended length that is taken up, 0..1; flexible duct only.
    density : float
        Of the air [kg/m3].

    Notes
    -----
    Darcy-Weisbach with Colebrook; an entry and an exit at full velocity (0.5 and 1.0 velocity pressures) and smooth bends.
    """
    one = friction(flow, diameter, ROUGHNESS[_MATERIALS.get(material, "flex")], density)
    along = one.loss_per_length * length
    if material == "flex":
        along *= compression_factor(diameter, compression)
    return along + (ENTRANCE + EXIT + bends * SMOOTH_ELBOW(1.0)) * velocity_pressure(one.velocity, density)


def area_of(diameter: float) -> float:
    """Area [m2] of a round duct of a diameter [m]."""
    return pi * diameter**2 / 4.0
