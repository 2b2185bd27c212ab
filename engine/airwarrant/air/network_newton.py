"""Newton's method on flows and pressures together: the quick path of the network solver."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network_law import SMOOTHING, drop_and_slope
from airwarrant.air.network_layout import NetworkLayout

LIMIT = 40
"""Iterations before another path is taken."""

# Relative to the largest drop and flow. A residual no larger than rounding of the pressures is accepted even where a link so near
# to no flow turns it into more flow than FLOW_TOLERANCE allows.
PRESSURE_TOLERANCE = 1e-10
FLOW_TOLERANCE = 1e-10
ROUNDING = 32.0 * np.finfo(float).eps
TINY = np.finfo(float).tiny
SMALLEST_STEP = 1.0 / 64.0
ENOUGH = 1e-4
"""Share of a step's promised decrease that must be seen."""


class State(NamedTuple):
    """Free pressures [Pa], link flows [m3/s] and blower flow [m3/s]."""

    p: Floats
    q: Floats
    fan_flow: float


class Gap(NamedTuple):
    """How far a state is from the laws, and the slopes there.

    Attributes
    ----------
    drops : ndarray (links,)
        Pressure differences [Pa].
    link : ndarray (links,)
        Pressure difference less the link's law [Pa].
    conductance : ndarray (links,)
        Derivative of flow by drop [m3/s/Pa].
    static, fan_flow, fan_slope : float
        The blower's static, what its curve gives there, and the curve's slope.
    fan : float
        Blower flow less the curve's [m3/s].
    """

    drops: Floats
    link: Floats
    conductance: Floats
    static: float
    fan_flow: float
    fan_slope: float
    fan: float


@dataclass(frozen=True, slots=True)
class Reached:
    """Where the iteration ended."""

    state: State
    gap: Gap
    iterations: int
    converged: bool


def first_guess(net: NetworkLayout) -> State:
    """Every link straight through its law at one flow, the blower straight at the middle of its table: one linear solve."""
    flow, static, start, slope = _typical(net)
    drop, _ = drop_and_slope(np.full(len(net.k), flow), net.k, net.exponent)
    conductance = flow / drop
    # The blower as q = start + slope (static - mid).
    constant = start + slope * (net.fan_offset - static)
    push = net.fan * constant - net.turned @ (conductance * net.offset)
    p = nodal_solve(nodal_matrix(net, conductance, slope), push)
    q = conductance * (net.incidence @ p + net.offset)
    return State(p, q, constant + slope * float(net.fan @ p))


def _typical(net: NetworkLayout) -> tuple[float, float, float, float]:
    if net.curve is not None:
        statics = net.curve.statics
        mid = 0.5 * (statics[0] + statics[-1])
        start, slope = net.curve.flow_and_slope(mid)
        return max(start, SMOOTHING), mid, start, slope
    held = net.held_pressures
    spread = float(held.max() - held.min()) if held.size else 0.0
    flows = (spread / net.k) ** (1.0 / net.exponent)
    return max(float(np.median(flows)) if flows.size else 0.0, SMOOTHING), 0.0, 0.0, 0.0


def nodal_matrix(net: NetworkLayout, conductance: Floats, fan_slope: float) -> Floats:
    """Symmetric positive definite matrix of the free pressures, shape (free, free) [m3/s/Pa]."""
    matrix: Floats = (net.turned * conductance) @ net.incidence
    if fan_slope:
        matrix -= fan_slope * net.fan_square
    return matrix


def nodal_solve(matrix: Floats, right: Floats) -> Floats:
    """Solve the nodal matrix for one right side; LinAlgError where rounding has made it singular."""
    return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)


def gap_of(net: NetworkLayout, state: State) -> Gap:
    """Measure a state against the laws."""
    drops: Floats = net.incidence @ state.p + net.offset
    drop, slope = drop_and_slope(state.q, net.k, net.exponent)
    if net.curve is None:
        return Gap(drops, drops - drop, 1.0 / slope, 0.0, 0.0, 0.0, 0.0)
    static = float(net.fan @ state.p) + net.fan_offset
    flow, fan_slope = net.curve.flow_and_slope(static)
    return Gap(drops, drops - drop, 1.0 / slope, static, flow, fan_slope, state.fan_flow - flow)


def newton(net: NetworkLayout, state: State, continuous: bool = True, limit: int = LIMIT) -> Reached:
    """Iterate from a state; if its flows balance at every node, they do so in every state after it.

    A state that is not `continuous` is made so first, by one whole step.
    """
    gap = gap_of(net, state)
    if not continuous:
        whole = _step(net, state, gap)
        if whole is None:
            return Reached(state, gap, 0, False)
        state = State(state.p + whole.p, state.q + whole.q, state.fan_flow + whole.fan_flow)
        gap = gap_of(net, state)
    for iteration in range(limit + 1):
        pressure, flow, rounding = _scales(net, state, gap)
        if settled(gap, pressure, flow, rounding):
            return Reached(state, gap, iteration, True)
        if iteration == limit:
            break
        step = _step(net, state, gap)
        if step is None:
            return Reached(state, gap, iteration, False)
        stepped = _damped(net, state, gap, step, pressure, flow)
        if stepped is None:
            return Reached(state, gap, iteration, False)
        state, gap = stepped
    return Reached(state, gap, limit, False)


def _scales(net: NetworkLayout, state: State, gap: Gap) -> tuple[float, float, float]:
    """Largest drop [Pa] and flow [m3/s], and what rounding leaves uncertain of a drop [Pa]."""
    pressure = max(_largest(gap.drops), abs(gap.static))
    flow = max(_largest(state.q), abs(state.fan_flow))
    return pressure, flow, ROUNDING * max(_largest(state.p), net.held_largest)


def _largest(values: Floats) -> float:
    return float(np.maximum.reduce(np.abs(values), initial=0.0))


def settled(gap: Gap, pressure: float, flow: float, rounding: float) -> bool:
    """Whether a state meets the laws, relative to the largest drop [Pa] and flow [m3/s] in it, or as well as rounding lets it."""
    worst = _largest(gap.link)
    if worst > max(PRESSURE_TOLERANCE * pressure, rounding, TINY):
        return False
    if abs(gap.fan) > FLOW_TOLERANCE * flow - gap.fan_slope * rounding + TINY:
        return False
    return worst <= rounding or _largest(gap.link * gap.conductance) <= FLOW_TOLERANCE * flow


def _step(net: NetworkLayout, state: State, gap: Gap) -> State | None:
    matrix = nodal_matrix(net, gap.conductance, gap.fan_slope)
    moved = gap.conductance * gap.link
    try:
        p = nodal_solve(matrix, net.fan * gap.fan_flow - net.turned @ (state.q + moved))
    except np.linalg.LinAlgError:
        return None
    q = gap.conductance * (net.incidence @ p) + moved
    return State(p, q, gap.fan_slope * float(net.fan @ p) - gap.fan)


def _damped(
    net: NetworkLayout, state: State, gap: Gap, step: State, pressure: float, flow: float
) -> tuple[State, Gap] | None:
    before = _norm(gap, pressure, flow)
    share = 1.0
    while share >= SMALLEST_STEP:
        there = State(state.p + share * step.p, state.q + share * step.q, state.fan_flow + share * step.fan_flow)
        new = gap_of(net, there)
        # At the level of rounding the norm wanders: then a full step is as good as any.
        if _norm(new, pressure, flow) <= max((1.0 - ENOUGH * share) * before, 1e-22):
            return there, new
        share *= 0.5
    return None


def _norm(gap: Gap, pressure: float, flow: float) -> float:
    pressure, fan = max(pressure, TINY), gap.fan / max(flow, TINY)
    return float(gap.link @ gap.link) / pressure / pressure + fan * fan
