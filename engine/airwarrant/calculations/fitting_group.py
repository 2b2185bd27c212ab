"""The calculation of a fitting's loss: one coefficient by kind of fitting, on velocity pressure."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.air import elbows, fittings
from airwarrant.air.printed import Curve
from airwarrant.air.standard import STANDARD_DENSITY
from airwarrant.calculations.calculation import (
    Answer,
    Calculation,
    Impossible,
    Key,
    Line,
    Missing,
    not_negative,
    number,
    outside,
    positive,
    word,
)

_SQUARE = 90.0
_INTERACTION = 1.5


@dataclass(frozen=True, slots=True)
class _Found:
    coefficient: float
    warnings: tuple[Line, ...] = ()
    cautions: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True)
class _Form:
    """A kind of fitting: the keys it needs and may have beside the velocity, and its coefficient from them."""

    needs: tuple[str, ...]
    may: tuple[str, ...]
    coefficient: Callable[..., _Found]


def _fitting_loss(fitting: str, velocity: float, density_ratio: float, **shape: Any) -> Answer:
    """Coefficient and total-pressure loss of a fitting.

    ``dp = C rho V^2/2``. V is in the duct; upstream for expansions, downstream for contractions, at the face for
    `grille`, at the blower's inlet for `elbow-at-blower`.

    ========================  ==========================================================================================
    fitting                   keys beside the velocity, and range
    ========================  ==========================================================================================
    elbow-smooth              radius_ratio (centre line over diameter) 0.5 to 2.5; [angle_deg] 20 to 180
    elbow-gored               pieces 3, 4, 5; radius_ratio 0.5 (4 and 5: 0.75) to 2; 90°
    elbow-die-stamped         diameter 75 to 250 mm; radius 1.5 diameters, 90°
    elbow-pleated             diameter 100 to 400 mm; radius 1.5 diameters, 90°
    elbow-mitred              round, no vanes; [angle_deg] 20 to 90; [reynolds]
    elbow-mitred-rectangular  height_ratio (height over width, width in the plane of the turn) 0.25 to 8, no vanes;
                              [angle_deg]; [reynolds]
    elbow-two-plane           two mitred elbows that turn in planes at right angles: height_ratio of the first 0.25 to
                              4; [interaction], how many times their sum the pair loses; [reynolds]
    elbow-at-blower           square elbow at a blower's inlet: radius_ratio (over height) 0.5 to 2; [straight_ratio],
                              diameters of straight duct before the blower, 0 to 5; [vanes] none, long
    expansion, contraction    area_ratio (smaller over larger area) 0 to 1
    expansion-gradual,        area_ratio; angle_deg, included, to 180
    contraction-gradual
    entrance, exit            none
    entrance-rounded          radius_ratio (edge over diameter) 0 to 1
    grille                    free_ratio (free over gross area) 0.2 to 0.7
    damper-butterfly          angle_deg of the blade, 0 open; from memory of a table, so never valid
    ========================  ==========================================================================================

    Keys in brackets may be absent: 90°, no straight duct, no vanes, interaction 1.5 (judgement, and said so), Reynolds
    number 1.4e5 or more. Below that mitred elbows lose up to 40 % more. SMACNA HVAC Systems Duct Design 4th ed. table
    A-7, ASHRAE CD3-1 and CD3-5 (elbows); ASHRAE 1988 (at the blower); Borda-Carnot (expansion, exit); Crane TP-410
    (gradual); classical values (contraction, entrance: within ±35 %); Swamee and Sharma 2008 (rounded entrance); a
    public table (grille). No value of a mitred elbow with vanes was seen.
    """
    form = _FORMS[fitting]
    taken = (*form.needs, *form.may)
    for name in shape:
        if name not in taken:
            raise Impossible(name, f"{fitting} does not have it", ", ".join(taken) or "no further key")
    for name in form.needs:
        if name not in shape:
            raise Missing(name, f"{fitting} needs it")
    found = form.coefficient(**shape)
    head = fittings.velocity_pressure(velocity, STANDARD_DENSITY * density_ratio)
    values = {"coefficient": found.coefficient, "loss": found.coefficient * head}
    return Answer(values, found.warnings, found.cautions)


def _smooth(radius_ratio: float, angle: float = _SQUARE) -> _Found:
    at_square, lines = _printed(elbows.SMOOTH_ELBOW, radius_ratio, "radius_ratio")
    turned, more = _printed(elbows.ELBOW_ANGLE, _angle(angle), "angle_deg")
    return _Found(at_square * turned, lines + more)


def _gored(radius_ratio: float, pieces: float) -> _Found:
    if pieces not in elbows.GORED_ELBOW:
        raise Impossible("pieces", f"{pieces:g}", ", ".join(map(str, elbows.GORED_ELBOW)))
    return _Found(*_printed(elbows.GORED_ELBOW[int(pieces)], radius_ratio, "radius_ratio"))


def _die_stamped(diameter: float) -> _Found:
    return _Found(*_printed(elbows.DIE_STAMPED_ELBOW, diameter, "diameter", "size"))


def _pleated(diameter: float) -> _Found:
    return _Found(*_printed(elbows.PLEATED_ELBOW, diameter, "diameter", "size"))


def _mitred(angle: float = _SQUARE, reynolds: float | None = None) -> _Found:
    at_angle, lines = _printed(elbows.MITRED_ELBOW, _angle(angle), "angle_deg")
    factor, more = _by_reynolds(reynolds)
    return _Found(at_angle * factor, lines + more)


def _mitred_rectangular(height_ratio: float, angle: float = _SQUARE, reynolds: float | None = None) -> _Found:
    _, lines = _printed(elbows.RECTANGULAR_MITRED_ELBOW, height_ratio, "height_ratio")
    _, more = _printed(elbows.MITRED_ELBOW, _angle(angle), "angle_deg")
    factor, last = _by_reynolds(reynolds)
    return _Found(elbows.rectangular_mitred_elbow(height_ratio, angle) * factor, lines + more + last)


def _two_plane(height_ratio: float, interaction: float | None = None, reynolds: float | None = None) -> _Found:
    lines = outside(height_ratio, 0.25, 4.0, "height_ratio is outside {0:n} to {1:n}")
    factor, more = _by_reynolds(reynolds)
    times = _INTERACTION if interaction is None else interaction
    lines += outside(
        times, 1.0, 2.0, "interaction is outside {0:n} to {1:n}: one elbow cannot shelter or spoil the other so much"
    )
    cautions: tuple[Line, ...] = ()
    if interaction is None:
        text = (
            f"interaction {_INTERACTION:g} is engineering judgement for elbows one to two widths apart (from memory of a handbook: 1.3 "
            "at three to five, 1 beyond nine); a measured drop overrides it"
        )
        cautions += (Line(text),)
    return _Found(elbows.two_plane_elbow(height_ratio, times) * factor, lines + more, cautions)


def _at_blower(radius_ratio: float, straight_ratio: float = 0.0, vanes: str = "none") -> _Found:
    sheet = elbows.VANED_ELBOW_AT_BLOWER if vanes == "long" else elbows.ELBOW_AT_BLOWER
    _, lines = _printed(sheet.columns[0], radius_ratio, "radius_ratio")
    lines += outside(
        straight_ratio, sheet.at[0], sheet.at[-1], "straight_ratio is above {1:n}; the loss at {1:n} is used"
    )
    return _Found(sheet(radius_ratio, straight_ratio), lines)


def _expansion(area_ratio: float, angle: float | None = None) -> _Found:
    share = _share("area_ratio", area_ratio)
    if angle is None:
        return _Found(fittings.sudden_expansion(share))
    return _Found(fittings.gradual_expansion(share, _angle(angle)))


def _contraction(area_ratio: float, angle: float | None = None) -> _Found:
    share = _share("area_ratio", area_ratio)
    if angle is None:
        return _Found(fittings.sudden_contraction(share))
    return _Found(fittings.gradual_contraction(share, _angle(angle)))


def _rounded(radius_ratio: float) -> _Found:
    lines = outside(radius_ratio, 0.0, 1.0, "radius_ratio is above {1:n}")
    return _Found(fittings.rounded_entrance(radius_ratio), lines)


def _grille(free_ratio: float) -> _Found:
    return _Found(*_printed(fittings.GRILLE, _share("free_ratio", free_ratio), "free_ratio"))


def _butterfly(angle: float) -> _Found:
    curve = fittings.BUTTERFLY_DAMPER
    if angle > _SQUARE:
        raise Impossible("angle", f"{angle:g}°", "0 (open) to 90")
    value, lines = _printed(curve, angle, "angle_deg")
    return _Found(value, (*lines, Line("the damper's table is from memory and unconfirmed: measure the drop")))


def _angle(angle: float) -> float:
    if angle > 180.0:
        raise Impossible("angle", f"{angle:g}°", "0 to 180")
    return angle


def _share(name: str, value: float) -> float:
    if value > 1.0:
        raise Impossible(name, f"{value:g}", "0 to 1")
    return value


def _by_reynolds(reynolds: float | None) -> tuple[float, tuple[Line, ...]]:
    curve = elbows.MITRED_REYNOLDS
    if reynolds is None or reynolds >= curve.at[-1]:
        return curve.value[-1], ()
    return _printed(curve, reynolds, "reynolds")


def _printed(curve: Curve, x: float, name: str, measure: str = "number") -> tuple[float, tuple[Line, ...]]:
    text = name + " is outside the table's {0:n} to {1}; its end value is used"
    return curve(x), outside(x, curve.at[0], curve.at[-1], text, measure)


_FORMS: Mapping[str, _Form] = {
    "elbow-smooth": _Form(("radius_ratio",), ("angle",), _smooth),
    "elbow-gored": _Form(("radius_ratio", "pieces"), (), _gored),
    "elbow-die-stamped": _Form(("diameter",), (), _die_stamped),
    "elbow-pleated": _Form(("diameter",), (), _pleated),
    "elbow-mitred": _Form((), ("angle", "reynolds"), _mitred),
    "elbow-mitred-rectangular": _Form(("height_ratio",), ("angle", "reynolds"), _mitred_rectangular),
    "elbow-two-plane": _Form(("height_ratio",), ("interaction", "reynolds"), _two_plane),
    "elbow-at-blower": _Form(("radius_ratio",), ("straight_ratio", "vanes"), _at_blower),
    "expansion": _Form(("area_ratio",), (), _expansion),
    "expansion-gradual": _Form(("area_ratio", "angle"), (), _expansion),
    "contraction": _Form(("area_ratio",), (), _contraction),
    "contraction-gradual": _Form(("area_ratio", "angle"), (), _contraction),
    "entrance": _Form((), (), lambda: _Found(fittings.ENTRANCE)),
    "entrance-rounded": _Form(("radius_ratio",), (), _rounded),
    "exit": _Form((), (), lambda: _Found(fittings.EXIT)),
    "grille": _Form(("free_ratio",), (), _grille),
    "damper-butterfly": _Form(("angle",), (), _butterfly),
}


def _maybe(id: str, measure: str = "number") -> Key:
    return Key(id, id, measure, bound="positive", optional=True)


def _maybe_none(id: str, measure: str = "number") -> Key:
    return Key(id, id, measure, bound="not-negative", optional=True)


CALCULATIONS = (
    Calculation(
        "fitting-loss",
        (
            word("fitting", *_FORMS),
            not_negative("velocity", "velocity"),
            positive("density_ratio", default=1.0),
            _maybe("radius_ratio"),
            _maybe_none("angle", "angle"),
            _maybe("pieces"),
            _maybe("diameter", "size"),
            _maybe("height_ratio"),
            _maybe("interaction"),
            _maybe_none("straight_ratio"),
            Key("vanes", "vanes", form="word", words=("none", "long"), optional=True),
            _maybe("reynolds"),
            _maybe("area_ratio"),
            _maybe("free_ratio"),
        ),
        (number("coefficient"), number("loss", "pressure")),
        _fitting_loss,
        "SMACNA HVAC Systems Duct Design 4th ed. table A-7; ASHRAE fitting tables; Borda-Carnot; Crane TP-410; a public grille table",
        30.0,
    ),
)
