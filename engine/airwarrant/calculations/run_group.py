"""The calculation of a duct run: straight duct and its bends."""

from airwarrant.air.elbows import SMOOTH_ELBOW
from airwarrant.air.fittings import velocity_pressure
from airwarrant.air.friction import ROUGHNESS, friction
from airwarrant.air.standard import STANDARD_DENSITY
from airwarrant.calculations.calculation import (
    Answer,
    Calculation,
    not_negative,
    number,
    outside,
    positive,
    word,
)
from airwarrant.calculations.ranges import compressed, duct_range, only_flex


def _duct_run(
    flow: float,
    diameter: float,
    material: str,
    compression: float,
    length: float,
    bends: float,
    radius_ratio: float,
    density_ratio: float,
) -> Answer:
    """Loss of a round duct run: its straight length and its quarter-turn bends.

    ``dp = f L/D F rho V^2/2 + n C rho V^2/2``: f and the compression factor F as in `duct-friction`, n bends, C of a smooth elbow by
    `radius_ratio` (centre line over diameter, 0.5 to 2.5). Same range as `duct-friction`; bends further apart than a few diameters.
    Bends of flexible duct lose more than smooth ones: a lower bound. Grille, box and collar are not in it.
    Colebrook 1939; ASHRAE Handbook—Fundamentals, Duct Design; SMACNA HVAC Systems Duct Design 4th ed. table A-7A.
    """
    only_flex(material, compression)
    factor, warnings = compressed(diameter, compression)
    density = STANDARD_DENSITY * density_ratio
    found = friction(flow, diameter, ROUGHNESS[material], density)
    warnings += duct_range(found.reynolds, material, diameter)
    warnings += outside(
        radius_ratio, SMOOTH_ELBOW.at[0], SMOOTH_ELBOW.at[-1], "radius_ratio is outside the table's {0:n} to {1:n}"
    )
    rate = found.loss_per_length * factor
    turning = bends * SMOOTH_ELBOW(radius_ratio) * velocity_pressure(found.velocity, density)
    return Answer(
        {
            "velocity": found.velocity,
            "friction": rate,
            "straight": rate * length,
            "bends": turning,
            "loss": rate * length + turning,
        },
        warnings,
    )


CALCULATIONS = (
    Calculation(
        "duct-run",
        (
            positive("flow", "flow"),
            positive("diameter", "size"),
            word("material", *ROUGHNESS),
            not_negative("compression", "share", 0.0),
            positive("length", "length"),
            not_negative("bends", default=0.0),
            positive("radius_ratio", default=1.0),
            positive("density_ratio", default=1.0),
        ),
        (
            number("velocity", "velocity"),
            number("friction", "friction"),
            number("straight", "pressure"),
            number("bends", "pressure"),
            number("loss", "pressure"),
        ),
        _duct_run,
        "Colebrook 1939; ASHRAE Handbook—Fundamentals, Duct Design; SMACNA HVAC Systems Duct Design 4th ed. table A-7A",
        15.0,
    ),
)
