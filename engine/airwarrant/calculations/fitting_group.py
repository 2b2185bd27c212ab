"""The calculation of a fitting's loss: one coefficient by kind of fitting, on velocity pressure."""

from collections.abc import Mapping
from dataclasses import dataclass

from airwarrant.air import fittings
from airwarrant.air.fittings import Curve
from airwarrant.air.standard import STANDARD_DENSITY
from airwarrant.calculations.calculation import (
    Answer,
    Calculation,
    Impossible,
    Key,
    Missing,
    not_negative,
    number,
    positive,
    word,
)

#: What each fitting needs beside the velocity; a key outside it would be read by nobody and is refused.
_NEEDS: Mapping[str, tuple[str, ...]] = {
    "elbow-smooth": ("radius_ratio",),
    "elbow-gored": ("radius_ratio", "pieces"),
    "elbow-mitred": (),
    "elbow-mitred-rectangular": ("height_ratio",),
    "expansion": ("area_ratio",),
    "contraction": ("area_ratio",),
    "entrance": (),
    "exit": (),
    "grille": ("free_ratio",),
}
_TAKES_ANGLE = ("elbow-smooth", "elbow-mitred")
_SQUARE = 90.0


@dataclass(frozen=True, slots=True)
class _Shape:
    radius_ratio: float | None
    angle: float | None
    pieces: float | None
    height_ratio: float | None
    area_ratio: float | None
    free_ratio: float | None

    def need(self, name: str) -> float:
        value: float | None = getattr(self, name)
        if value is None:
            raise Missing(name, "this fitting needs it")
        return value


def _fitting_loss(
    fitting: str,
    velocity: float,
    density_ratio: float,
    radius_ratio: float | None = None,
    angle: float | None = None,
    pieces: float | None = None,
    height_ratio: float | None = None,
    area_ratio: float | None = None,
    free_ratio: float | None = None,
) -> Answer:
    """Coefficient and total-pressure loss of a fitting.

    ``dp = C rho V^2/2``. V is in the duct; upstream for `expansion`, downstream for `contraction`, at the face for `grille`.

    ===========================  =====================================================================================
    fitting                      keys beside the velocity, and range
    ===========================  =====================================================================================
    elbow-smooth                 radius_ratio (centre line over diameter) 0.5 to 2.5; angle_deg 20 to 180, 90 if absent
    elbow-gored                  pieces 3, 4, 5; radius_ratio 0.5 (4 and 5: 0.75) to 2; 90°
    elbow-mitred                 round, no vanes; angle_deg 20 to 90, 90 if absent
    elbow-mitred-rectangular     height_ratio (height over width, width in the plane of the turn) 0.25 to 4; no vanes, 90°
    expansion, contraction       area_ratio (smaller over larger area) 0 to 1
    entrance, exit               none
    grille                       free_ratio (free over gross area) 0.2 to 0.7
    ===========================  =====================================================================================

    SMACNA HVAC Systems Duct Design 4th ed. table A-7 (elbows); Borda-Carnot (expansion, exit); classical values (contraction,
    entrance: within ±35 %); a public table (grille). Coefficients at Re from 1.4e5; below, elbows lose up to 40 % more.
    """
    shape = _Shape(radius_ratio, angle, pieces, height_ratio, area_ratio, free_ratio)
    taken = (*_NEEDS[fitting], *(("angle",) if fitting in _TAKES_ANGLE else ()))
    for name in ("radius_ratio", "angle", "pieces", "height_ratio", "area_ratio", "free_ratio"):
        if getattr(shape, name) is not None and name not in taken:
            raise Impossible(name, f"{fitting} does not have it", ", ".join(taken) or "no further key")
    coefficient, warnings = _coefficient(fitting, shape)
    head = fittings.velocity_pressure(velocity, STANDARD_DENSITY * density_ratio)
    return Answer({"coefficient": coefficient, "loss": coefficient * head}, warnings)


def _coefficient(fitting: str, shape: _Shape) -> tuple[float, tuple[str, ...]]:
    match fitting:
        case "elbow-smooth":
            at_square, warnings = _printed(fittings.SMOOTH_ELBOW, shape.need("radius_ratio"), "radius_ratio")
            turned, more = _printed(fittings.ELBOW_ANGLE, _angle(shape), "angle_deg")
            return at_square * turned, warnings + more
        case "elbow-gored":
            pieces = shape.need("pieces")
            if pieces not in fittings.GORED_ELBOW:
                raise Impossible("pieces", f"{pieces:g}", ", ".join(map(str, fittings.GORED_ELBOW)))
            return _printed(fittings.GORED_ELBOW[int(pieces)], shape.need("radius_ratio"), "radius_ratio")
        case "elbow-mitred":
            return _printed(fittings.MITRED_ELBOW, _angle(shape), "angle_deg")
        case "elbow-mitred-rectangular":
            return _printed(fittings.RECTANGULAR_MITRED_ELBOW, shape.need("height_ratio"), "height_ratio")
        case "expansion":
            return fittings.sudden_expansion(_share(shape, "area_ratio")), ()
        case "contraction":
            return fittings.sudden_contraction(_share(shape, "area_ratio")), ()
        case "entrance":
            return fittings.ENTRANCE, ()
        case "exit":
            return fittings.EXIT, ()
        case _:
            return _printed(fittings.GRILLE, _share(shape, "free_ratio"), "free_ratio")


def _angle(shape: _Shape) -> float:
    angle = _SQUARE if shape.angle is None else shape.angle
    if angle > 180.0:
        raise Impossible("angle", f"{angle:g}°", "0 to 180")
    return angle


def _share(shape: _Shape, name: str) -> float:
    value = shape.need(name)
    if value > 1.0:
        raise Impossible(name, f"{value:g}", "0 to 1")
    return value


def _printed(curve: Curve, x: float, name: str) -> tuple[float, tuple[str, ...]]:
    if curve.holds(x):
        return curve(x), ()
    return curve(x), (f"{name} is outside the table's {curve.at[0]:g} to {curve.at[-1]:g}; its end value is used",)


def _maybe(id: str, measure: str = "number") -> Key:
    return Key(id, id, measure, bound="positive", optional=True)


CALCULATIONS = (
    Calculation(
        "fitting-loss",
        (
            word("fitting", *_NEEDS),
            not_negative("velocity", "velocity"),
            positive("density_ratio", default=1.0),
            _maybe("radius_ratio"),
            _maybe("angle", "angle"),
            _maybe("pieces"),
            _maybe("height_ratio"),
            _maybe("area_ratio"),
            _maybe("free_ratio"),
        ),
        (number("coefficient"), number("loss", "pressure")),
        _fitting_loss,
        "SMACNA HVAC Systems Duct Design 4th ed. table A-7; Borda-Carnot; a public grille table",
        30.0,
    ),
)
