"""Newton's method on flows and pressures together: the quick path of the network solver."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network_layout import NumberedNetwork
from airwarrant.air.network_nodal import nodal_solve, nodal_solve_carefully

LIMIT = 40
"""Iterations before another path is taken."""

# Relative to the largest drop and flow. A residual no larger than rounding of the pressures is accepted even where a link so near
# to no flow turns it into more flow than FLOW_TOLERANCE allows.
PRESSURE_TOLERANCE = 1e-10
FLOW_TOLERANCE = 1e-10
ROUNDING = 32.0 * float(np.finfo(float).eps)
TINY = float(np.finfo(float).tiny)
SMALLEST_STEP = 1.0 / 64.0
ENOUGH = 1e-4
"""Share of a step's promised decrease that must be seen."""
# Most drops in a house are nearer to a tenth of the static its blower's table reaches than to all of it: from a twentieth to a
# fifth random houses take the fewest iterations.
_SHARE_OF_STATIC = 0.1


class State(NamedTuple):
    """Free pressures [Pa], and flows [m3/s] of the rows: links, then the blower."""

    p: Floats
    q: Floats


class Gap(NamedTuple):
    """How far a state is from the laws, and the slopes there.

    Attributes
    ----------
    drops : ndarray (rows,)
        Pressure differences [Pa].
    link : ndarray (links,)
        Pressure difference less the link's law [Pa].
    conductance : ndarray (rows,)
        Derivative of flow by drop [m3/s/Pa]; the blower's is its curve's slope with the sign turned.
    moved : ndarray (rows,)
        What each flow must gain for its law to hold at these pressures, by the slopes here [m3/s].
    square : float
        Sum of the squares of `link` [Pa2].
    """

    drops: Floats
    link: Floats
    conductance: Floats
    moved: Floats
    square: float


@dataclass(frozen=True, slots=True)
class Reached:
    """Where the iteration ended."""

    state: State
    gap: Gap
    iterations: int
    converged: bool


def first_guess(net: NumberedNetwork) -> State:
    """Every link straight through its law at one drop, the blower straight at the middle of its table: one linear solve."""
    drop, middle, start, slope = typical(net)
    law, links = net.law, len(net.law.k)
    conductance = np.empty(len(net.offset))
    np.divide(np.power(drop / law.k, 1.0 / law.exponent), drop, out=conductance[:links])
    constant = np.zeros(len(net.offset))
    if net.curve is not None:
        # The blower as q = start + slope (static - middle).
        conductance[links], constant[links] = -slope, start - slope * middle
    constant += conductance * net.offset
    p = nodal_solve(net, conductance, net.turned @ constant)
    np.negative(p, out=p)
    return State(p, conductance * (net.incidence @ p) + constant)


def typical(net: NumberedNetwork) -> tuple[float, float, float, float]:
    """A drop [Pa] to start from; the middle of the blower's table [Pa], its flow [m3/s] and slope [m3/s/Pa] there."""
    held = net.held_pressures
    spread = float(held.max() - held.min()) if len(held) > 1 else 0.0
    if net.curve is None:
        return spread or 1.0, 0.0, 0.0, 0.0
    low, high = net.curve.statics[0], net.curve.statics[-1]
    middle = 0.5 * (low + high)
    return max(_SHARE_OF_STATIC * max(abs(low), abs(high)), spread), middle, *net.curve.flow_and_slope(middle)


def gap_of(net: NumberedNetwork, state: State) -> Gap:
    """Measure a state against the laws."""
    q, links = state.q, len(net.law.k)
    drops: Floats = net.incidence @ state.p
    drops += net.offset
    if net.curve is None:
        drop, slope = net.law.drop_and_slope(q)
        link = np.subtract(drops, drop, out=drop)
        conductance = np.divide(1.0, slope, out=slope)
        return Gap(drops, link, conductance, link * conductance, float(link @ link))
    drop, slope = net.law.drop_and_slope(q[:links])
    link = np.subtract(drops[:links], drop, out=drop)
    conductance, moved = np.empty(links + 1), np.empty(links + 1)
    inner = np.divide(1.0, slope, out=conductance[:links])
    np.multiply(link, inner, out=moved[:links])
    flow, fan_slope = net.curve.flow_and_slope(-drops.item(links))
    conductance[links], moved[links] = -fan_slope, flow - q.item(links)
    return Gap(drops, link, conductance, moved, float(link @ link))


def lawful(net: NumberedNetwork, p: Floats) -> State:
    """State in which every law holds at given free pressures [Pa], but flows need not balance."""
    drops, links = net.incidence @ p + net.offset, len(net.law.k)
    q = np.empty(len(drops))
    q[:links] = net.law.flow_of_drop(drops[:links])
    if net.curve is not None:
        q[links] = net.curve.flow_and_slope(-drops.item(links))[0]
    return State(p, q)


def newton(
    net: NumberedNetwork, state: State, continuous: bool = True, limit: int = LIMIT, carefully: bool = False
) -> Reached:
    """Iterate from a state; if its flows balance at every node, they do so in every state after it.

    A state that is not `continuous` is made so first, by one whole step. Each step is solved `carefully` or quickly.
    """
    gap = gap_of(net, state)
    iteration = 0
    if not continuous:
        whole = _step(net, state, gap, carefully)
        if whole is None:
            return Reached(state, gap, 0, False)
        state = State(state.p + whole.p, state.q + whole.q)
        gap = gap_of(net, state)
        iteration = 1
    while True:
        pressure, flow = _largest(gap.drops), _largest(state.q)
        if _settled(net, state, gap, pressure, flow):
            return Reached(state, gap, iteration, True)
        if iteration >= limit:
            return Reached(state, gap, iteration, False)
        step = _step(net, state, gap, carefully)
        stepped = None if step is None else _damped(net, state, gap, step, pressure, flow)
        if stepped is None:
            return Reached(state, gap, iteration, False)
        state, gap = stepped
        iteration += 1


def _largest(values: Floats) -> float:
    return float(np.maximum.reduce(np.abs(values), initial=0.0))


def _settled(net: NumberedNetwork, state: State, gap: Gap, pressure: float, flow: float) -> bool:
    """Whether a state meets the laws, relative to the largest drop [Pa] and flow [m3/s] in it, or as well as rounding lets it."""
    # Every free node hangs on a held one by some of the rows: no pressure lies farther off than all drops together.
    widest = ROUNDING * (net.held_largest + len(gap.drops) * pressure)
    most = max(PRESSURE_TOLERANCE * pressure, widest, TINY)
    if gap.square > len(gap.link) * most * most:
        return False
    # What rounding leaves uncertain of a drop.
    rounding = ROUNDING * max(_largest(state.p), net.held_largest)
    worst = _largest(gap.link)
    if worst > max(PRESSURE_TOLERANCE * pressure, rounding, TINY):
        return False
    links = len(gap.link)
    if net.curve is not None:
        off, fan_slope = abs(gap.moved.item(links)), gap.conductance.item(links)
        if off > FLOW_TOLERANCE * flow + fan_slope * rounding + TINY:
            return False
    return worst <= rounding or _largest(gap.moved[:links]) <= FLOW_TOLERANCE * flow


def _step(net: NumberedNetwork, state: State, gap: Gap, carefully: bool) -> State | None:
    moved = gap.moved
    solve = nodal_solve_carefully if carefully else nodal_solve
    try:
        p = solve(net, gap.conductance, net.turned @ (state.q + moved))
    except np.linalg.LinAlgError:
        return None
    np.negative(p, out=p)
    q = net.incidence @ p
    q *= gap.conductance
    q += moved
    return State(p, q)


def _damped(
    net: NumberedNetwork, state: State, gap: Gap, step: State, pressure: float, flow: float
) -> tuple[State, Gap] | None:
    before = _norm(net, gap, pressure, flow)
    there = State(state.p + step.p, state.q + step.q)
    share = 1.0
    while True:
        new = gap_of(net, there)
        # At the level of rounding the norm wanders: then a full step is as good as any.
        if _norm(net, new, pressure, flow) <= max((1.0 - ENOUGH * share) * before, 1e-22):
            return there, new
        share *= 0.5
        if share < SMALLEST_STEP:
            return None
        there = State(state.p + share * step.p, state.q + share * step.q)


def _norm(net: NumberedNetwork, gap: Gap, pressure: float, flow: float) -> float:
    pressure = max(pressure, TINY)
    if net.curve is None:
        return gap.square / pressure / pressure
    fan = gap.moved.item(len(gap.link)) / max(flow, TINY)
    return gap.square / pressure / pressure + fan * fan
