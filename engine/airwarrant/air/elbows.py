"""Loss coefficients of elbows, on the velocity pressure in the duct.

Sources: SMACNA HVAC Systems Duct Design, 4th ed., table A-7 (A smooth, B of pieces, C and D mitred; its notes 1 and 2
are the factors for angle and Reynolds number); ASHRAE Handbook—Fundamentals 1989 (mitred rectangular, the same values
and factor) and 2009 SI, ch. 21, CD3-1 and CD3-5; ASHRAE 1988, elbows at a blower's inlet. Each from a secondary copy.
The row of three pieces agrees with ASHRAE CD3-12.
"""

from collections.abc import Mapping
from types import MappingProxyType

from airwarrant.air.printed import Curve, Sheet

#: By centre-line radius over diameter; 90°.
SMOOTH_ELBOW = Curve((0.5, 0.75, 1.0, 1.5, 2.0, 2.5), (0.71, 0.33, 0.22, 0.15, 0.13, 0.12))
#: Factor on a smooth 90° elbow by angle [°].
ELBOW_ANGLE = Curve(
    (20, 30, 45, 60, 75, 90, 110, 130, 150, 180), (0.31, 0.45, 0.60, 0.78, 0.90, 1.0, 1.13, 1.2, 1.28, 1.4)
)
#: By radius ratio, for each number of pieces; 90°.
GORED_ELBOW: Mapping[int, Curve] = MappingProxyType(
    {
        3: Curve((0.5, 0.75, 1.0, 1.5, 2.0), (0.98, 0.54, 0.42, 0.34, 0.33)),
        4: Curve((0.75, 1.0, 1.5, 2.0), (0.50, 0.37, 0.27, 0.24)),
        5: Curve((0.75, 1.0, 1.5, 2.0), (0.46, 0.33, 0.24, 0.19)),
    }
)
#: By diameter [m]; 90°, radius ratio 1.5.
DIE_STAMPED_ELBOW = Curve((0.075, 0.10, 0.125, 0.15, 0.20, 0.25), (0.30, 0.21, 0.16, 0.14, 0.11, 0.11))
PLEATED_ELBOW = Curve((0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40), (0.57, 0.43, 0.34, 0.28, 0.26, 0.25, 0.25))

#: Round, no vanes, by angle [°].
MITRED_ELBOW = Curve((20, 30, 45, 60, 75, 90), (0.08, 0.16, 0.34, 0.55, 0.81, 1.2))
#: Rectangular, no vanes, 90°, by height over width; the width lies in the plane of the turn.
RECTANGULAR_MITRED_ELBOW = Curve((0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 8.0), (1.3, 1.3, 1.2, 1.1, 0.98, 0.92, 0.83))
#: Factor on a mitred elbow by Reynolds number.
MITRED_REYNOLDS = Curve((1e4, 2e4, 3e4, 4e4, 6e4, 8e4, 1e5, 1.4e5), (1.40, 1.26, 1.19, 1.14, 1.09, 1.06, 1.04, 1.0))

_STRAIGHT = (0.0, 2.0, 5.0)
#: Square elbow with a transition at a blower's inlet: by radius over height, and by diameters of straight duct before
#: the blower.
ELBOW_AT_BLOWER = Sheet(
    _STRAIGHT,
    tuple(
        Curve((0.5, 0.75, 1.0, 2.0), row)
        for row in ((2.5, 2.0, 1.2, 0.80), (1.6, 1.2, 0.66, 0.47), (0.80, 0.66, 0.33, 0.26))
    ),
)
#: The same with three long turning vanes.
VANED_ELBOW_AT_BLOWER = Sheet(
    _STRAIGHT,
    tuple(Curve((0.5, 1.0, 2.0), row) for row in ((0.80, 0.53, 0.26), (0.47, 0.33, 0.22), (0.26, 0.18, 0.14))),
)


def rectangular_mitred_elbow(height_ratio: float, angle: float = 90.0) -> float:
    """Coefficient of a rectangular mitred elbow without vanes, by height over width and angle [°].

    The 90° row times the round elbow's share at the angle; the printed rows of other angles agree to 0.03.
    """
    return RECTANGULAR_MITRED_ELBOW(height_ratio) * MITRED_ELBOW(angle) / MITRED_ELBOW(90.0)


def two_plane_elbow(height_ratio: float, interaction: float) -> float:
    """Coefficient of two mitred rectangular elbows that turn in planes at right angles, such as a narrow roof elbow.

    The second elbow turns across the first one's width, so that its ratio is the inverse. ``interaction`` is how many
    times their sum the pair loses: within 10 % of 1 far apart (Mylaram and Idem 2005, ASHRAE Transactions, abstract);
    no printed value for a close pair was seen.
    """
    return interaction * (rectangular_mitred_elbow(height_ratio) + rectangular_mitred_elbow(1.0 / height_ratio))
