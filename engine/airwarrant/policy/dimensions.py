"""What measures what: whether parts of a figure fit its step and its unit."""

from collections.abc import Mapping, Sequence

from airwarrant.units import UNITS

Exponents = tuple[int, int, int, int]  # mass, length, time, temperature

_EXPONENTS: Mapping[str, Exponents] = {
    "number": (0, 0, 0, 0),
    "concentration": (0, 0, 0, 0),
    "pressure": (1, -1, -2, 0),
    "flow": (0, 3, -1, 0),
    "flow per capacity": (-1, 1, 2, 0),
    "power per flow": (1, -1, -2, 0),
    "power": (1, 2, -3, 0),
    "length": (0, 1, 0, 0),
    "area": (0, 2, 0, 0),
    "velocity": (0, 1, -1, 0),
    "temperature difference": (0, 0, 0, 1),
    "time": (0, 0, 1, 0),
    "density": (1, -3, 0, 0),
    "heat per volume": (1, -1, -2, -1),
}


def step_fault(step: str, parts: Sequence[str], unit: str) -> str:
    """Say what is wrong with a step on parts of these units for a figure of this unit; empty if it fits."""
    kinds = [UNITS[part].dimension for part in parts]
    own = UNITS[unit].dimension
    if step in ("product_of", "ratio_of", "share_of"):
        return _scaled(step, kinds, own)
    odd = next((kind for kind in kinds if kind != kinds[0]), None)
    if odd is not None:
        return f"{kinds[0]} against {odd}"
    made = kinds[0]
    if made == "temperature" and step in ("difference_of", "gap_between"):
        made = "temperature difference"
    elif made == "temperature" and step in ("sum_of", "sum_over"):
        return "temperatures cannot be added up"
    return "" if made == own else f"the step gives a {made}, the unit is one of {own}"


def _scaled(step: str, kinds: Sequence[str], own: str) -> str:
    for kind in (*kinds, own):
        if kind not in _EXPONENTS:
            return f"a {kind} cannot be multiplied or divided"
    if step == "share_of" and (own != "number" or kinds[0] != kinds[1]):
        return f"a share is of like against like, in % or 1; here {kinds[0]} against {kinds[1]}, as {own}"
    sign = 1 if step == "product_of" else -1
    made = list(_EXPONENTS[kinds[0]])
    for kind in kinds[1:]:
        made = [m + sign * e for m, e in zip(made, _EXPONENTS[kind], strict=True)]
    if tuple(made) == _EXPONENTS[own]:
        return ""
    return f"{' by '.join(kinds)} does not give a {own}"
