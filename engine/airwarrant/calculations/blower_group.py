"""Calculations on blowers: fan laws, power, the meeting of a blower table with one system curve."""

from itertools import pairwise
from math import isfinite, pow

from airwarrant.air.blower import crossing, efficiency, scaled_power, scaled_static
from airwarrant.calculations.calculation import (
    Answer,
    Calculation,
    Impossible,
    Key,
    Line,
    not_negative,
    number,
    outside,
    positive,
)
from airwarrant.calculations.inputs import as_number
from airwarrant.calculations.measures import MEASURES, System

Table = tuple[tuple[float, float], ...]


def _fan_law(flow: float, static: float, power: float, new_flow: float) -> Answer:
    """Static pressure and power of one fan in one unchanged system at another flow.

    ``dp2 = dp1 (Q2/Q1)^2``, ``W2 = W1 (Q2/Q1)^3``: speed alone changes. Valid for half to twice the flow, where
    efficiency holds. ASHRAE Handbook—HVAC Systems and Equipment, Fans.
    """
    warnings = outside(new_flow / flow, 0.5, 2.0, "the new flow is outside half to twice the old one")
    return Answer(
        {"static": scaled_static(static, flow, new_flow), "power": scaled_power(power, flow, new_flow)}, warnings
    )


def _fan_power(flow: float, power: float, static: float) -> Answer:
    """Fan power per flow, and efficiency from electricity to air.

    ``W/Q`` and ``Q dp / W``. Furnace and air-handler blowers run at 10 to 15 %, the best near 40 %; above 70 % a
    reading is wrong. Definition; range: Lawrence Berkeley National Laboratory, Residential Furnace Blower Performance
    in U.S. Homes.
    """
    share = efficiency(flow, static, power)
    warnings = outside(share, 0.0, 0.7, "efficiency is above 70 %, which no house blower reaches: check the readings")
    return Answer({"power_per_flow": power / flow, "efficiency": share}, warnings)


def _blower_point(curve: Table, static: float, at_flow: float, exponent: float) -> Answer:
    """Flow and static where a blower's table meets a system known by one point.

    ``dp = static (Q / at)^exponent``; the table is read by a monotone cubic, beyond it by a straight line. Valid within
    the table and for exponents 1 to 2. One system without leaks; not a prediction of a house. ASHRAE Handbook—HVAC
    Systems and Equipment, Fans.
    """
    from airwarrant.air.blower_curve import BlowerCurve  # here, for the start of every other calculation

    table = BlowerCurve.of_rows(curve)
    warnings = outside(exponent, 1.0, 2.0, "exponent is outside 1 to 2")
    found = crossing(lambda s: table.flow_and_slope(s)[0], static / pow(at_flow, exponent), exponent)
    if table.beyond(found.static) > 0.0:
        warnings += (Line("the crossing lies beyond the blower's table, on the straight line from its end"),)
    return Answer({"flow": found.flow, "static": found.static}, warnings)


def _read_curve(raw: object, system: System) -> Table:
    static, flow = MEASURES["pressure"].of(system), MEASURES["flow"].of(system)
    points: list[tuple[float, float]] = []
    pairs = [part.split(":") for part in raw.split(",")] if isinstance(raw, str) else raw
    points_as = "0.2:1500,0.3:1455" if system == "ip" else "50:700,75:690"
    shape = f"{points_as} (static:flow in {static.unit} and {flow.unit}), or in a file a list of such pairs"
    if not isinstance(pairs, list):
        raise Impossible("curve", f"`{raw}`", shape)
    for pair in pairs:
        two = [as_number(part) for part in pair] if isinstance(pair, list) else []
        if len(two) != 2 or two[0] is None or two[1] is None or not (isfinite(two[0]) and isfinite(two[1])):
            raise Impossible("curve", f"`{pair}` is not a static and a flow", shape)
        points.append((static.to_si(two[0]), flow.to_si(two[1])))
    points.sort()
    if len(points) < 2:
        raise Impossible("curve", "one point makes no curve", "two points or more")
    if points[0][0] < 0.0 or any(q < 0.0 for _, q in points) or points[0][1] <= 0.0:
        raise Impossible(
            "curve", "a static or flow below zero, or no flow at all", "static of at least 0, flow above 0"
        )
    for before, after in pairwise(points):
        if before[0] == after[0]:
            raise Impossible("curve", f"static {static.from_si(before[0]):g} stands twice", "each static once")
        if after[1] > before[1]:
            at = f"from static {static.from_si(before[0]):g} to {static.from_si(after[0]):g}"
            raise Impossible("curve", f"flow rises {at}", "flow that falls or holds as static rises")
    return tuple(points)


def _write_curve(table: Table, system: System) -> list[list[float]]:
    static, flow = MEASURES["pressure"].of(system), MEASURES["flow"].of(system)
    return [[static.written(s), flow.written(q)] for s, q in table]


CALCULATIONS = (
    Calculation(
        "fan-law",
        (
            positive("flow", "flow"),
            not_negative("static", "pressure"),
            not_negative("power", "power"),
            positive("new_flow", "flow"),
        ),
        (number("static", "pressure"), number("power", "power")),
        _fan_law,
        "fan laws; ASHRAE Handbook—HVAC Systems and Equipment, Fans",
        5.0,
    ),
    Calculation(
        "fan-power",
        (positive("flow", "flow"), positive("power", "power"), not_negative("static", "pressure")),
        (number("power_per_flow", "power-per-flow", stem=""), number("efficiency")),
        _fan_power,
        "definition",
    ),
    Calculation(
        "blower-point",
        (
            Key("curve", "curve", form="structure", read=_read_curve, write=_write_curve),
            positive("static", "pressure"),
            positive("at_flow", "flow", stem="at"),
            positive("exponent", default=2.0),
        ),
        (number("flow", "flow"), number("static", "pressure")),
        _blower_point,
        "fan and system curves; ASHRAE Handbook—HVAC Systems and Equipment, Fans",
        10.0,
    ),
)
