"""Round ducts that lose what a rectangular or flat oval one loses at the same flow."""

from math import pi, pow


def rectangular_equivalent(a: float, b: float) -> float:
    """Diameter [m] of the round duct with the friction of a rectangular one of sides a, b [m], at equal flow.

    ``1.30 (a b)^0.625 / (a + b)^0.25``; good to 1 % for sides up to 4:1, used to 8:1. The velocity takes the real area.

    References
    ----------
    Huebscher 1948; ASHRAE Handbook—Fundamentals, Duct Design.
    """
    return 1.30 * pow(a * b, 0.625) / pow(a + b, 0.25)


def oval_equivalent(major: float, minor: float) -> float:
    """Diameter [m] of the round duct with the friction of a flat oval one, at equal flow.

    ``1.55 A^0.625 / P^0.25`` with ``A = pi a^2/4 + a (M - a)``, ``P = pi a + 2 (M - a)``. 0.1 % high where it becomes round.

    References
    ----------
    Heyt and Diaz 1975; ASHRAE Handbook—Fundamentals, Duct Design.
    """
    flat = major - minor
    area = pi * minor**2 / 4.0 + minor * flat
    return 1.55 * pow(area, 0.625) / pow(pi * minor + 2.0 * flat, 0.25)
