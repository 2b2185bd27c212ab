"""Calculations on openings: return grilles, shut doors, transfer paths."""

from airwarrant.air.openings import DISCHARGE, opening_pressure, round_of_area, transfer_area
from airwarrant.calculations.calculation import Answer, Calculation, not_negative, number, outside, positive
from airwarrant.calculations.ranges import discharge_range, part


def _grille_face(flow: float, gross: float, free_ratio: float) -> Answer:
    """Air velocity at a grille's face and through its free area, and flow per gross area.

    ``V = Q / A``; free velocity over the ratio of free to gross area. Definition. The usual ratio of 0.75 is Building
    Science Corporation's for transfer grilles; stamped faces are nearer 0.5. Valid for ratios 0.2 to 1.
    """
    part("free_ratio", free_ratio)
    warnings = outside(free_ratio, 0.2, 1.0, "free_ratio is below 0.2: no grille is this closed")
    face = flow / gross
    return Answer({"face": face, "free": face / free_ratio, "flow_per_face": face}, warnings)


def _door_pressure(flow: float, free_area: float, discharge: float) -> Answer:
    """Pressure in a shut room from the air that must leave through its openings.

    ``dP = rho/2 (Q / (Cd A))^2``, rho 1.2 kg/m3; Cd 0.606 is ``Q = 1.07 A sqrt(dP)`` in cfm, in2, Pa. Valid for
    discharge 0.6 to 0.65, the range of published values; turbulent openings. Building Science Corporation, RR-0005.
    """
    return Answer({"pressure": opening_pressure(flow, free_area, discharge)}, discharge_range(discharge))


def _transfer_area(
    flow: float, limit: float, door_width: float, undercut: float, net_free_ratio: float, grille_width: float
) -> Answer:
    """Free area a room needs to give its air back at a pressure, what the undercut leaves of it, and a grille or jump duct for that.

    ``A = Q / (1.07 sqrt(dP))`` in cfm, in2, Pa; less door width × undercut; height = rest / (net free ratio × grille
    width); jump duct ``sqrt(4 A / pi)``, without its friction: a lower bound. Valid 1 to 10 Pa. Building Science
    Corporation, RR-0005.
    """
    part("net_free_ratio", net_free_ratio)
    warnings = outside(limit, 1.0, 10.0, "limit is outside {0:n} to {1}", "small-pressure")
    total = transfer_area(flow, limit)
    rest = max(total - door_width * undercut, 0.0)
    return Answer(
        {
            "total_free": total,
            "after_undercut": rest,
            "grille_height": rest / (net_free_ratio * grille_width),
            "jump_diameter": round_of_area(rest),
        },
        warnings,
    )


CALCULATIONS = (
    Calculation(
        "grille-face",
        (not_negative("flow", "flow"), positive("gross", "face"), positive("free_ratio", default=0.75)),
        (
            number("face", "velocity"),
            number("free", "velocity"),
            number("flow_per_face", "flow-per-face", stem=""),
        ),
        _grille_face,
        "definition",
    ),
    Calculation(
        "door-pressure",
        (not_negative("flow", "flow"), positive("free_area", "face"), positive("discharge", default=DISCHARGE)),
        (number("pressure", "small-pressure"),),
        _door_pressure,
        "orifice law; Building Science Corporation RR-0005",
        15.0,
    ),
    Calculation(
        "transfer-area",
        (
            not_negative("flow", "flow"),
            positive("limit", "small-pressure"),
            positive("door_width", "size"),
            not_negative("undercut", "size"),
            positive("net_free_ratio", default=0.75),
            positive("grille_width", "size", 12.0),
        ),
        (
            number("total_free", "face"),
            number("after_undercut", "face"),
            number("grille_height", "size"),
            number("jump_diameter", "size"),
        ),
        _transfer_area,
        "Building Science Corporation RR-0005",
        7.0,
    ),
)
