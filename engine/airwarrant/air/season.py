"""What a cooling season costs: the load of the full-load hours, through the ducts, with the blower's own watts.

One effect, one place: what airflow does to the efficiency of the equipment is in the distribution system efficiency
(the equipment factor of ASHRAE 152), so that the energy input modifier of `equipment` must not be multiplied in again.
"""

from airwarrant.air.elementwise import Value
from airwarrant.air.equipment import season_energy

_J_PER_KWH = 3.6e6
_BTUH_PER_W = 3600.0 / 1055.05585262


def running_hours(hours: float, efficiency: Value, equipment: Value, capacity_share: Value) -> Value:
    """Hours the blower runs in a season.

    Parameters
    ----------
    hours : float
        Full-load hours: those that equipment of rated capacity would run without duct losses.
    efficiency, equipment : float or ndarray
        Distribution system efficiency and the equipment factor in it, which costs power but no time.
    capacity_share : float or ndarray
        Capacity at this airflow over the rated one (`capacity_modifier`).
    """
    return hours * equipment / (efficiency * capacity_share)


def season_energy_with_ducts(
    capacity: float, hours: float, seer: float, efficiency: Value, blower_excess: Value | float, running: Value
) -> Value:
    """Electric energy of a cooling season [J].

    ``E = capacity hours / SEER / DSE + (P - P_rated) (1 + 3.412 / SEER) running``: a duct system of efficiency `DSE`
    makes a label of SEER act like ``SEER DSE``. The blower's watts beyond those in the rating, and removing their heat,
    come on top; fewer watts come off.

    Parameters
    ----------
    capacity : float
        Rated [W].
    hours : float
        Full-load hours [h].
    seer : float
        As on the label, Btu/(W h).
    efficiency : float or ndarray
        Distribution system efficiency (ASHRAE 152).
    blower_excess : float or ndarray
        Blower power less that in the rating [W].
    running : float or ndarray
        `running_hours` [h].

    References
    ----------
    ASHRAE 152 (efficiency); AHRI 210/240 (definition of SEER, power of the blower in it).
    """
    blower = blower_excess * (1.0 + _BTUH_PER_W / seer) * running / 1000.0
    return (season_energy(capacity, hours, seer) / efficiency + blower) * _J_PER_KWH
