"""One network with many sets of resistances, solved together: arrays of (links, sets)."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network import solve
from airwarrant.air.network_elimination import Elimination, plan
from airwarrant.air.network_law import drop_and_slope
from airwarrant.air.network_layout import NetworkLayout, lay_out
from airwarrant.air.network_newton import (
    ENOUGH,
    FLOW_TOLERANCE,
    LIMIT,
    PRESSURE_TOLERANCE,
    ROUNDING,
    SMALLEST_STEP,
    TINY,
    first_guess,
)
from airwarrant.air.network_parts import Network, NetworkError

# Sets taken together: many outweigh the calls they share, and memory stays bounded.
BLOCK = 1000

Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class BatchSolution:
    """Solutions of many sets; the last axis of every array is the set.

    Attributes
    ----------
    nodes, links : tuple of str
        Names of the rows of `pressures` and `flows`.
    pressures : ndarray (nodes, sets)
        [Pa], held nodes last.
    flows : ndarray (links, sets)
        [m3/s], positive from the link's `a` to its `b`.
    blower_flow, static : ndarray (sets,)
        [m3/s] and [Pa]; zeros without a blower.
    residual : ndarray (sets,)
        Largest difference [Pa] between a link's drop and its law.
    iterations : ndarray (sets,)
    alone : ndarray of bool (sets,)
        Sets that the scalar solver solved.
    valid : ndarray of bool (sets,)
        False where the blower stands further beyond its table than one spacing of its rows.
    beyond : ndarray (sets,)
        How far beyond its table the blower stands, in spacings of its rows.
    """

    nodes: tuple[str, ...]
    links: tuple[str, ...]
    pressures: Floats
    flows: Floats
    blower_flow: Floats
    static: Floats
    residual: Floats
    iterations: Ints
    alone: Bools
    valid: Bools
    beyond: Floats


@dataclass(slots=True)
class _Sets:
    """Sets under way; columns are sets. Not frozen: one owner, inside one call."""

    which: Ints
    k: Floats
    scale: Floats
    p: Floats
    q: Floats
    fan: Floats

    def take(self, some: Ints | Bools) -> "_Sets":
        return _Sets(
            self.which[some],
            self.k[:, some],
            self.scale[some],
            self.p[:, some],
            self.q[:, some],
            self.fan[some],
        )

    def put(self, some: Ints, other: "_Sets") -> None:
        self.p[:, some], self.q[:, some], self.fan[some] = other.p, other.q, other.fan

    def moved(self, step: "_Sets", share: float) -> "_Sets":
        if share == 1.0:
            return replace(self, p=self.p + step.p, q=self.q + step.q, fan=self.fan + step.fan)
        return replace(self, p=self.p + share * step.p, q=self.q + share * step.q, fan=self.fan + share * step.fan)


@dataclass(slots=True)
class _Gaps:
    drops: Floats
    link: Floats
    conductance: Floats
    static: Floats
    flow: Floats
    slope: Floats
    fan: Floats

    def take(self, some: Ints | Bools) -> "_Gaps":
        return _Gaps(
            self.drops[:, some],
            self.link[:, some],
            self.conductance[:, some],
            self.static[some],
            self.flow[some],
            self.slope[some],
            self.fan[some],
        )

    def put(self, some: Ints, other: "_Gaps") -> None:
        self.drops[:, some], self.link[:, some], self.conductance[:, some] = other.drops, other.link, other.conductance
        self.static[some], self.flow[some], self.slope[some] = other.static, other.flow, other.slope
        self.fan[some] = other.fan


def solve_batch(network: Network, k: Floats, curve_scale: Floats | None = None) -> BatchSolution:
    """Solve a network for many sets of resistances by the equations of `solve`.

    Parameters
    ----------
    network : Network
        Its own resistances only give the start.
    k : ndarray (links, sets)
        Resistances [Pa/(m3/s)^n] in the order of ``network.links``.
    curve_scale : ndarray (sets,), optional
        What every flow of the blower's table is multiplied by.

    Raises
    ------
    NetworkError
        As `solve`; also arrays of a wrong shape or with numbers not above 0, and own resistances too far apart to start from.
    NotConverged
        A set that the batch gave up was not solved alone either.
    """
    k = np.ascontiguousarray(k, dtype=float)
    scale = np.ones(k.shape[-1]) if curve_scale is None else np.asarray(curve_scale, dtype=float)
    _refuse(network, k, scale)
    net = lay_out(network)
    count = k.shape[1]
    done = _empty(net, count)
    order = plan(net)
    # As in `solve`: a trial step that overflows is refused.
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        for first in range(0, count, BLOCK):
            block = np.arange(first, min(first + BLOCK, count))
            for column in _iterate(net, order, _start(net, block, k, scale), done):
                _solve_alone(network, net, k[:, column], float(scale[column]), column, done)
    return done


def _refuse(network: Network, k: Floats, scale: Floats) -> None:
    if k.ndim != 2 or k.shape[0] != len(network.links):
        raise NetworkError(f"k must have the shape ({len(network.links)}, sets); found {k.shape}")
    if scale.shape != k.shape[1:]:
        raise NetworkError(f"curve_scale must have the shape {k.shape[1:]}; found {scale.shape}")
    good = np.isfinite(k) & (k > 0.0)
    if not good.all():
        names = ", ".join(f"`{link.id}`" for i, link in enumerate(network.links) if not good[i].all())
        raise NetworkError(f"every k must be finite and above 0; some are not for {names}")
    if not np.all(np.isfinite(scale) & (scale > 0.0)):
        raise NetworkError("every number of curve_scale must be finite and above 0")


def _empty(net: NetworkLayout, count: int) -> BatchSolution:
    nodes = (*net.free, *net.held)
    pressures = np.empty((len(nodes), count))
    pressures[len(net.free) :] = net.held_pressures[:, None]
    return BatchSolution(
        nodes,
        net.links,
        pressures,
        np.empty((len(net.links), count)),
        np.zeros(count),
        np.zeros(count),
        np.zeros(count),
        np.zeros(count, dtype=np.intp),
        np.zeros(count, dtype=bool),
        np.ones(count, dtype=bool),
        np.zeros(count),
    )


def _start(net: NetworkLayout, block: Ints, k: Floats, scale: Floats) -> _Sets:
    try:
        guess = first_guess(net)
    except np.linalg.LinAlgError as error:
        raise NetworkError("the resistances lie too far apart for double precision") from error
    count = block.size
    # One start for all sets: it is continuous, so every later state is.
    return _Sets(
        block,
        k[:, block],
        scale[block],
        np.repeat(guess.p[:, None], count, axis=1),
        np.repeat(guess.q[:, None], count, axis=1),
        np.full(count, guess.fan_flow),
    )


def _gaps(net: NetworkLayout, sets: _Sets) -> _Gaps:
    drops = net.incidence @ sets.p
    drops += net.offset[:, None]
    drop, slope = drop_and_slope(sets.q, sets.k, net.exponent[:, None])
    link = np.subtract(drops, drop, out=drop)
    conductance = np.divide(1.0, slope, out=slope)
    if net.curve is None:
        nothing = np.zeros(len(sets.which))
        return _Gaps(drops, link, conductance, nothing, nothing, nothing, nothing)
    static = net.fan @ sets.p + net.fan_offset
    flow, fan_slope = net.curve.flows_and_slopes(static)
    flow, fan_slope = flow * sets.scale, fan_slope * sets.scale
    return _Gaps(drops, link, conductance, static, flow, fan_slope, sets.fan - flow)


def _iterate(net: NetworkLayout, order: Elimination, sets: _Sets, done: BatchSolution) -> list[int]:
    """Newton on all sets; fills in `done` and returns the sets that did not get there."""
    lost: list[int] = []
    gaps = _gaps(net, sets)
    for iteration in range(LIMIT + 1):
        pressure = np.maximum(np.abs(gaps.drops).max(axis=0, initial=0.0), np.abs(gaps.static))
        flow = np.maximum(np.abs(sets.q).max(axis=0, initial=0.0), np.abs(sets.fan))
        there = _settled(net, sets, gaps, pressure, flow)
        if there.any():
            if there.all():
                _keep(net, sets, gaps, iteration, done)
                return lost
            _keep(net, sets.take(there), gaps.take(there), iteration, done)
            going = ~there
            sets, gaps, pressure, flow = sets.take(going), gaps.take(going), pressure[going], flow[going]
        if iteration == LIMIT:
            break
        step = _step(net, order, sets, gaps)
        sets, gaps, stuck = _damped(net, sets, gaps, step, pressure, flow)
        if stuck.any():
            lost += sets.which[stuck].tolist()
            sets, gaps = sets.take(~stuck), gaps.take(~stuck)
            if not sets.which.size:
                return lost
    lost += sets.which.tolist()
    return lost


def _settled(net: NetworkLayout, sets: _Sets, gaps: _Gaps, pressure: Floats, flow: Floats) -> Bools:
    off = np.abs(gaps.link)
    worst = off.max(axis=0, initial=0.0)
    rounding = ROUNDING * np.maximum(np.abs(sets.p).max(axis=0, initial=0.0), net.held_largest)
    near: Bools = worst <= np.maximum(np.maximum(PRESSURE_TOLERANCE * pressure, rounding), TINY)
    near = near & (np.abs(gaps.fan) <= FLOW_TOLERANCE * flow - gaps.slope * rounding + TINY)
    as_flow = (off * gaps.conductance).max(axis=0, initial=0.0)
    settled: Bools = near & ((worst <= rounding) | (as_flow <= FLOW_TOLERANCE * flow))
    return settled


def _step(net: NetworkLayout, order: Elimination, sets: _Sets, gaps: _Gaps) -> _Sets:
    moved = gaps.conductance * gaps.link
    right = net.fan[:, None] * gaps.flow - net.turned @ (sets.q + moved)
    p = order.solve(order.matrix(gaps.conductance, gaps.slope), right)
    q = net.incidence @ p
    q *= gaps.conductance
    q += moved
    return replace(sets, p=p, q=q, fan=gaps.slope * (net.fan @ p) - gaps.fan)


def _damped(
    net: NetworkLayout, sets: _Sets, gaps: _Gaps, step: _Sets, pressure: Floats, flow: Floats
) -> tuple[_Sets, _Gaps, Bools]:
    before = _norm(gaps, pressure, flow)
    new = sets.moved(step, 1.0)
    there = _gaps(net, new)
    share = 1.0
    bad = np.flatnonzero(~(_norm(there, pressure, flow) <= np.maximum((1.0 - ENOUGH) * before, 1e-22)))
    while bad.size and share > SMALLEST_STEP:
        share *= 0.5
        less = sets.take(bad).moved(step.take(bad), share)
        less_gaps = _gaps(net, less)
        new.put(bad, less)
        there.put(bad, less_gaps)
        enough = np.maximum((1.0 - ENOUGH * share) * before[bad], 1e-22)
        bad = bad[~(_norm(less_gaps, pressure[bad], flow[bad]) <= enough)]
    stuck = np.zeros(len(sets.which), dtype=bool)
    stuck[bad] = True
    return new, there, stuck


def _norm(gaps: _Gaps, pressure: Floats, flow: Floats) -> Floats:
    link = gaps.link / np.maximum(pressure, TINY)
    norm: Floats = np.einsum("ij,ij->j", link, link) + (gaps.fan / np.maximum(flow, TINY)) ** 2
    return norm


def _keep(net: NetworkLayout, sets: _Sets, gaps: _Gaps, iteration: int, done: BatchSolution) -> None:
    which = sets.which
    done.pressures[: len(net.free), which] = sets.p
    done.flows[:, which] = sets.q
    done.residual[which] = np.abs(gaps.link).max(axis=0, initial=0.0)
    done.iterations[which] = iteration
    if net.curve is None:
        return
    done.blower_flow[which], done.static[which] = sets.fan, gaps.static
    s = net.curve.statics
    below, above = (s[0] - gaps.static) / (s[1] - s[0]), (gaps.static - s[-1]) / (s[-1] - s[-2])
    done.beyond[which] = np.maximum(np.maximum(below, above), 0.0)
    done.valid[which] = done.beyond[which] <= 1.0


def _solve_alone(
    network: Network, net: NetworkLayout, k: Floats, scale: float, column: int, done: BatchSolution
) -> None:
    links = tuple(replace(link, k=float(value)) for link, value in zip(network.links, k, strict=True))
    blower = network.blower
    if blower is not None:
        blower = replace(blower, curve=blower.curve.scaled(scale))
    answer = solve(replace(network, links=links, blower=blower))
    done.pressures[:, column] = [answer.pressures[node] for node in done.nodes]
    done.flows[:, column] = [answer.flows[link] for link in done.links]
    done.residual[column] = answer.residual
    done.iterations[column] = answer.iterations
    done.alone[column] = True
    done.valid[column] = answer.valid
    if net.curve is not None and answer.blower_flow is not None and answer.static is not None:
        done.blower_flow[column], done.static[column] = answer.blower_flow, answer.static
        done.beyond[column] = net.curve.beyond(answer.static)
