"""How far a room stands above the thermostat, from a steady balance of sensible heat.

``L - UA t = C q (t + D)``: `L` the load of the room at the thermostat's temperature [W], `UA` what it trades with its surroundings
for each degree [W/K], `t` how far it stands above the thermostat [K], `C` heat of a volume of air [J/(m3 K)], `q` air into the
room [m3/s], `D` how far that air is below the thermostat [K]. Cooling, unit running; the store of the walls is left out. All
arguments may be arrays of one shape.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Amount = TypeVar("Amount", float, NDArray[float64])


def room_offset(load: Amount, flow: Amount, exchange: Amount, below: Amount, heat: float) -> Amount:
    """How far the room stands above the thermostat [K]: ``(L - C q D) / (UA + C q)``."""
    return (load - heat * flow * below) / (exchange + heat * flow)


def load_behind(offset: Amount, flow: Amount, exchange: Amount, below: Amount, heat: float) -> Amount:
    """Load [W] that an offset [K] shows at a flow: ``UA t + C q (t + D)``, the inverse of `room_offset`."""
    return exchange * offset + heat * flow * (offset + below)
