"""Valid ranges and refusals that several calculations share."""

from airwarrant.air.friction import ROUGHNESS, compression_factor, sag_ratio
from airwarrant.calculations.calculation import Impossible, Line, outside

_IN = 0.0254
_TOP_OF_ATMOSPHERE = 44000.0  # m; the pressure formula ends at 44 331 m
_LOWEST, _HIGHEST = -1524.0, 11000.0  # m

FLEX_SMALLEST, FLEX_LARGEST = 6 * _IN, 16 * _IN
FLEX_COMPRESSION = 0.3
_WIDE, _LOOSE = 12 * _IN, 0.15  # from here measured losses exceed the factor
SAG_LARGEST = 10 * _IN
SAG_LEAST, SAG_MOST = 0.15, 0.45
ROUGHEST = 0.05
TURBULENT = 4000.0


def part(name: str, value: float) -> None:
    """Refuse a share above 1."""
    if value > 1.0:
        raise Impossible(name, f"{value:g}", "more than 0, at most 1")


def altitude_range(altitude: float) -> tuple[Line, ...]:
    """Range of the standard atmosphere's pressure; refuses an altitude [m] where the formula has none."""
    if altitude >= _TOP_OF_ATMOSPHERE:
        allowed = Line("below {0}", ((_TOP_OF_ATMOSPHERE, "length"),))
        raise Impossible("altitude", "lies above the formula's atmosphere", allowed)
    return outside(altitude, _LOWEST, _HIGHEST, "altitude is outside {0:n} to {1}", "length")


def compressed(diameter: float, compression: float) -> tuple[float, tuple[Line, ...]]:
    """Compression factor of flexible duct [m, 0..1] and its range."""
    if compression >= 1.0:
        raise Impossible("compression", f"{compression * 100:g} %", "0 to less than 100")
    lines: tuple[Line, ...] = ()
    if compression > 0.0:
        text = "compressed flexible duct was measured from {0:n} to {1}"
        lines += outside(diameter, FLEX_SMALLEST, FLEX_LARGEST, text, "size")
        lines += outside(compression, 0.0, FLEX_COMPRESSION, "compression is above the measured {1}", "share")
        if diameter >= _WIDE - 1e-9 and compression >= _LOOSE - 1e-9:
            said = ((_WIDE, "size"), (_LOOSE, "share"))
            lines += (Line("from {0} at {1} compression, published measurements exceed this factor", said),)
    return compression_factor(diameter, compression), lines


def sagging(
    material: str, diameter: float, compression: float, sag: float
) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    """Range and cautions of a figure for sag, how many times the loss of duct laid straight."""
    if material != "flex":
        raise Impossible("sag", f"{material} does not sag", "no sag, or material flex")
    if sag < 1.0:
        raise Impossible("sag", f"{sag:g}", "1 or more: sag adds to the loss")
    measured = (
        FLEX_SMALLEST - 1e-9 <= diameter <= SAG_LARGEST + 1e-9 and SAG_LEAST <= compression + 1e-9 <= SAG_MOST + 2e-9
    )
    worst = sag_ratio(diameter, compression)
    if not measured:
        said = ((FLEX_SMALLEST, "size"), (SAG_LARGEST, "size"), (SAG_LEAST, "share"), (SAG_MOST, "share"))
        return (Line("sag was measured from {0:n} to {1} at {2:n} to {3} compression only", said),), ()
    text = "sag {0:n} is your own figure; the worst sagging duct measured lost {1:n} times what this factor gives"
    caution = Line(text, ((sag, "number"), (worst, "number")))
    return outside(sag, 1.0, worst, "sag is above {1:n}, the worst measured at this compression"), (caution,)


def only_flex(material: str, compression: float) -> None:
    """Refuse compression of anything but flexible duct."""
    if material != "flex" and compression > 0.0:
        raise Impossible("compression", f"{material} is not compressed", "0, or material flex")


def duct_range(reynolds: float, material: str, diameter: float) -> tuple[Line, ...]:
    """Range of Colebrook's friction factor."""
    text = "Reynolds number is outside {0:n} to 1e8: the flow is not fully turbulent"
    rough = outside(ROUGHNESS[material] / diameter, 0.0, ROUGHEST, "relative roughness is above 0.05")
    return outside(reynolds, TURBULENT, 1e8, text) + rough


def discharge_range(discharge: float) -> tuple[Line, ...]:
    """Range of published discharge coefficients of openings in a house."""
    part("discharge", discharge)
    return outside(discharge, 0.6, 0.65, "discharge is outside the published {0:n} to {1:n}")


def leak_pressure_range(pressure: float) -> tuple[Line, ...]:
    """Range of pressures [Pa] over which a leak's power law is used."""
    return outside(pressure, 1.0, 250.0, "pressure is outside {0:n} to {1}", "small-pressure")
