"""Calculations on straight ducts: friction, size, equivalent diameter, compression."""

from math import ceil, pi

from airwarrant.air.friction import ROUGHNESS, diameter_for, friction
from airwarrant.air.shapes import oval_equivalent, rectangular_equivalent
from airwarrant.air.standard import STANDARD_DENSITY
from airwarrant.calculations.calculation import (
    Answer,
    Calculation,
    Key,
    Line,
    not_negative,
    number,
    outside,
    positive,
    word,
)
from airwarrant.calculations.ranges import compressed, duct_range, only_flex, sagging

_IN = 0.0254
_COLEBROOK = "Darcy-Weisbach with Colebrook 1939; roughness and compression: ASHRAE Handbook—Fundamentals, Duct Design"


def _duct_friction(
    flow: float,
    diameter: float,
    material: str,
    compression: float,
    length: float,
    density_ratio: float,
    sag: float | None = None,
) -> Answer:
    """Friction of air in a straight round duct.

    ``dp/L = f/D rho V^2/2`` with ``1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt f))``; flexible duct times
    ``1 + 0.58 K exp(-0.126 D)`` (K percent of compression, D in.). Roughness: galvanized 0.0003 ft; flex extended, duct
    board and lined 0.003 ft. Valid: Re from 4000, relative roughness to 0.05; compression 6 to 16 in., to 30 %, laid straight.
    `sag`, how many times the straight loss sagging duct has, is your own figure: no published formula tells sag from
    compression, and the one published bound (over ten times stretched duct, 6 to 10 in., 15 to 45 %) is only compared
    with it. Colebrook 1939; ASHRAE Handbook—Fundamentals, Duct Design; Abushakra et al. 2004.
    """
    only_flex(material, compression)
    factor, warnings = compressed(diameter, compression)
    found = friction(flow, diameter, ROUGHNESS[material], STANDARD_DENSITY * density_ratio)
    warnings += duct_range(found.reynolds, material, diameter)
    loss = found.loss_per_length * factor
    cautions: tuple[Line, ...] = ()
    if sag is not None:
        more, cautions = sagging(material, diameter, compression, sag)
        warnings += more
        loss *= sag
    return Answer(
        {
            "velocity": found.velocity,
            "reynolds": found.reynolds,
            "friction_factor": found.factor,
            "friction": loss,
            "loss": loss * length,
        },
        warnings,
        cautions,
    )


def _duct_size(flow: float, friction_rate: float, material: str, compression: float) -> Answer:
    """Diameter of a round duct for a flow at a friction rate, the next stock size, and the velocity in that size.

    The inverse of `duct-friction` in standard air, same equations, range and source. Stock sizes: whole inches to 10,
    even above.
    """
    only_flex(material, compression)
    diameter = diameter_for(flow, friction_rate, ROUGHNESS[material], compression)
    _, warnings = compressed(diameter, compression)
    found = friction(flow, diameter, ROUGHNESS[material])
    warnings += duct_range(found.reynolds, material, diameter)
    inches = ceil(diameter / _IN - 1e-9)
    stock = (inches if inches <= 10 else inches + inches % 2) * _IN
    return Answer({"diameter": diameter, "stock": stock, "velocity": flow / (pi * stock**2 / 4.0)}, warnings)


def _equivalent_diameter(shape: str, width: float, height: float) -> Answer:
    """Diameter of the round duct with the same friction at the same flow.

    Rectangular: ``1.30 (a b)^0.625 / (a + b)^0.25``. Flat oval: ``1.55 A^0.625 / P^0.25``. Valid to sides of 8:1 (1 %
    to 4:1). Take real area for velocity. Huebscher 1948; Heyt and Diaz 1975; ASHRAE Handbook—Fundamentals, Duct Design.
    """
    major, minor = max(width, height), min(width, height)
    warnings = outside(major / minor, 1.0, 8.0, "sides are further apart than 8:1")
    found = rectangular_equivalent(major, minor) if shape == "rectangular" else oval_equivalent(major, minor)
    return Answer({"diameter": found}, warnings)


def _flex_compression(diameter: float, compression: float) -> Answer:
    """How many times the loss of fully extended flexible duct a compressed one has.

    ``1 + 0.58 K exp(-0.126 D)``, K percent, D in.; multiplies the loss at 0.003 ft roughness. Valid 6 to 16 in., to
    30 %, laid straight: a floor, sag comes on top. ASHRAE Handbook—Fundamentals, Duct Design; Abushakra, Walker, Sherman
    2004 (LBNL).
    """
    factor, warnings = compressed(diameter, compression)
    return Answer({"factor": factor}, warnings)


_MATERIAL = word("material", *ROUGHNESS)
_COMPRESSION = not_negative("compression", "share", 0.0)

CALCULATIONS = (
    Calculation(
        "duct-friction",
        (
            positive("flow", "flow"),
            positive("diameter", "size"),
            _MATERIAL,
            _COMPRESSION,
            positive("length", "length", 100.0),
            positive("density_ratio", default=1.0),
            Key("sag", "sag", bound="positive", optional=True),
        ),
        (
            number("velocity", "velocity"),
            number("reynolds"),
            number("friction_factor"),
            number("friction", "friction"),
            number("loss", "pressure"),
        ),
        _duct_friction,
        _COLEBROOK,
        10.0,
    ),
    Calculation(
        "duct-size",
        (positive("flow", "flow"), positive("friction_rate", "friction", stem="friction"), _MATERIAL, _COMPRESSION),
        (number("diameter", "size"), number("stock", "size"), number("velocity", "velocity")),
        _duct_size,
        _COLEBROOK,
        2.0,
    ),
    Calculation(
        "equivalent-diameter",
        (word("shape", "rectangular", "oval"), positive("width", "size"), positive("height", "size")),
        (number("diameter", "size"),),
        _equivalent_diameter,
        "Huebscher 1948 (rectangular), Heyt and Diaz 1975 (flat oval)",
        1.0,
    ),
    Calculation(
        "flex-compression",
        (positive("diameter", "size"), not_negative("compression", "share")),
        (number("factor"),),
        _flex_compression,
        "ASHRAE Handbook—Fundamentals, Duct Design; Abushakra, Walker, Sherman 2004",
        25.0,
    ),
)
