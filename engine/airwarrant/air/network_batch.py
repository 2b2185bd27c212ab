"""One network with many sets of resistances, solved together: arrays of (links, sets)."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network import solve
from airwarrant.air.network_law import LinkLaw
from airwarrant.air.network_layout import NetworkLayout, NumberedNetwork, numbered
from airwarrant.air.network_newton import (
    ENOUGH,
    FLOW_TOLERANCE,
    LIMIT,
    PRESSURE_TOLERANCE,
    ROUNDING,
    SMALLEST_STEP,
    TINY,
    gap_of,
    typical,
)
from airwarrant.air.network_parts import Network, NetworkError, NotConverged, Solution
from airwarrant.air.network_sensitivity import derivatives
from airwarrant.air.network_warm import state_of

# Sets taken together: many outweigh the calls they share, and memory stays bounded.
BLOCK = 1000
# Logarithm of a resistance's or scale's ratio to the network's own up to which a straight line from its solution starts a set.
_NEAR = 1.0

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
    """Sets under way; columns are sets, rows of `q` the links, then the blower. Not frozen: one owner, inside one call."""

    which: Ints
    law: LinkLaw
    scale: Floats
    p: Floats
    q: Floats

    def take(self, some: Ints | Bools) -> "_Sets":
        law = self.law._replace(k=self.law.k[:, some])
        return _Sets(self.which[some], law, self.scale[some], self.p[:, some], self.q[:, some])

    def put(self, some: Ints, other: "_Sets") -> None:
        self.p[:, some], self.q[:, some] = other.p, other.q

    def moved(self, step: "_Sets", share: float) -> "_Sets":
        if share == 1.0:
            return replace(self, p=self.p + step.p, q=self.q + step.q)
        return replace(self, p=self.p + share * step.p, q=self.q + share * step.q)


@dataclass(slots=True)
class _Gaps:
    """As `Gap` of one set, columns are sets."""

    drops: Floats
    link: Floats
    conductance: Floats
    moved: Floats

    def take(self, some: Ints | Bools) -> "_Gaps":
        return _Gaps(self.drops[:, some], self.link[:, some], self.conductance[:, some], self.moved[:, some])

    def put(self, some: Ints, other: "_Gaps") -> None:
        self.drops[:, some], self.link[:, some] = other.drops, other.link
        self.conductance[:, some], self.moved[:, some] = other.conductance, other.moved


def solve_batch(
    network: Network,
    k: Floats,
    curve_scale: Floats | None = None,
    start: Solution | None = None,
    layout: NetworkLayout | None = None,
) -> BatchSolution:
    """Solve a network for many sets of resistances by the equations of `solve`.

    Parameters
    ----------
    network : Network
        Its own resistances only give the start.
    k : ndarray (links, sets)
        Resistances [Pa/(m3/s)^n] in the order of ``network.links``.
    curve_scale : ndarray (sets,), optional
        What every flow of the blower's table is multiplied by.
    start : Solution, optional
        Of this network or one much like it, as for `solve`.
    layout : NetworkLayout, optional
        As for `solve`.

    Raises
    ------
    NetworkError
        As `solve`; also arrays of a wrong shape or with numbers not above 0.
    NotConverged
        A set that the batch gave up was not solved alone either.
    """
    k = np.ascontiguousarray(k, dtype=float)
    scale = np.ones(k.shape[-1:]) if curve_scale is None else np.asarray(curve_scale, dtype=float)
    _refuse(network, k, scale)
    net = numbered(network, layout)
    count = k.shape[1]
    done = _empty(net, count)
    if not count:
        return done
    line = _line(network, net, start)
    # As in `solve`: a trial step that overflows is refused.
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        for first in range(0, count, BLOCK):
            block = np.arange(first, min(first + BLOCK, count))
            sets = _start(net, line, block, k[:, block], scale[block])
            for column in _iterate(net, sets, done):
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


def _empty(net: NumberedNetwork, count: int) -> BatchSolution:
    free, held = net.layout.free, net.layout.held
    pressures = np.empty((len(free) + len(held), count))
    pressures[len(free) :] = net.held_pressures[:, None]
    return BatchSolution(
        (*free, *held),
        net.layout.links,
        pressures,
        np.empty((len(net.law.k), count)),
        np.zeros(count),
        np.zeros(count),
        np.zeros(count),
        np.zeros(count, dtype=np.intp),
        np.zeros(count, dtype=bool),
        np.ones(count, dtype=bool),
        np.zeros(count),
    )


class _Line(NamedTuple):
    """The network's own solution and how it moves with its parameters: pressures (free,) and flows (rows,)."""

    p: Floats
    q: Floats
    p_by: Floats
    q_by: Floats


def _line(network: Network, net: NumberedNetwork, start: Solution | None) -> _Line | None:
    """None where the network's own numbers have no solution in double precision: sets need not share that."""
    try:
        own = state_of(net, solve(network, start, net.layout))
        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
            p_by, q_by, _ = derivatives(net, own, gap_of(net, own))
    except (NotConverged, np.linalg.LinAlgError):
        return None
    if not (np.isfinite(p_by).all() and np.isfinite(q_by).all()):
        return None
    return _Line(own.p, own.q, p_by, q_by)


def _start(net: NumberedNetwork, line: _Line | None, block: Ints, k: Floats, scale: Floats) -> _Sets:
    """Sets near the network's own numbers start on the straight line from its solution, others from a guess of their own."""
    exponent, half, tail = (row[:, None] for row in net.law[1:])
    law = LinkLaw(k, exponent, half, tail)
    if line is None:
        return _guessed(net, _Sets(block, law, scale, scale, scale))
    along = np.log(np.vstack((k / net.law.k[:, None], scale)))
    # Derivatives of continuity are continuous too, so every state on the line is.
    p, q = line.p_by @ along, line.q_by @ along
    p += line.p[:, None]
    q += line.q[:, None]
    sets = _Sets(block, law, scale, p, q)
    far = np.flatnonzero(~(np.abs(along).max(axis=0) <= _NEAR))
    if far.size:
        sets.put(far, _guessed(net, sets.take(far)))
    return sets


def _guessed(net: NumberedNetwork, sets: _Sets) -> _Sets:
    """`first_guess` of every set."""
    drop, middle, start, slope = typical(net)
    links = len(net.law.k)
    conductance = np.empty((len(net.offset), sets.which.size))
    np.divide(np.power(drop / sets.law.k, 1.0 / sets.law.exponent), drop, out=conductance[:links])
    if net.curve is not None:
        conductance[links] = -slope * sets.scale
    constant = conductance * net.offset[:, None]
    if net.curve is not None:
        constant[links] += (start - slope * middle) * sets.scale
    order = net.layout.elimination
    p = np.negative(order.solve(order.matrix(conductance), net.turned @ constant))
    conductance *= net.incidence @ p
    return replace(sets, p=p, q=conductance + constant)


def _gaps(net: NumberedNetwork, sets: _Sets) -> _Gaps:
    links = len(sets.law.k)
    drops = net.incidence @ sets.p
    drops += net.offset[:, None]
    drop, slope = sets.law.drop_and_slope(sets.q[:links])
    link = np.subtract(drops[:links], drop, out=drop)
    conductance, moved = np.empty_like(drops), np.empty_like(drops)
    np.divide(1.0, slope, out=conductance[:links])
    np.multiply(link, conductance[:links], out=moved[:links])
    if net.curve is not None:
        flow, fan_slope = net.curve.flows_and_slopes(-drops[links])
        np.multiply(fan_slope, -sets.scale, out=conductance[links])
        np.subtract(flow * sets.scale, sets.q[links], out=moved[links])
    return _Gaps(drops, link, conductance, moved)


def _iterate(net: NumberedNetwork, sets: _Sets, done: BatchSolution) -> list[int]:
    """Newton on all sets; fills in `done` and returns the sets that did not get there."""
    lost: list[int] = []
    gaps = _gaps(net, sets)
    for iteration in range(LIMIT + 1):
        pressure, flow = _largest(gaps.drops), _largest(sets.q)
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
        step = _step(net, sets, gaps)
        sets, gaps, stuck = _damped(net, sets, gaps, step, pressure, flow)
        if stuck.any():
            lost += sets.which[stuck].tolist()
            sets, gaps = sets.take(~stuck), gaps.take(~stuck)
            if not sets.which.size:
                return lost
    lost += sets.which.tolist()
    return lost


def _largest(values: Floats) -> Floats:
    largest: Floats = np.abs(values).max(axis=0, initial=0.0)
    return largest


def _settled(net: NumberedNetwork, sets: _Sets, gaps: _Gaps, pressure: Floats, flow: Floats) -> Bools:
    worst = _largest(gaps.link)
    rounding = ROUNDING * np.maximum(_largest(sets.p), net.held_largest)
    settled: Bools = worst <= np.maximum(np.maximum(PRESSURE_TOLERANCE * pressure, rounding), TINY)
    if not settled.any():
        return settled
    links = len(gaps.link)
    if net.curve is not None:
        settled &= np.abs(gaps.moved[links]) <= FLOW_TOLERANCE * flow + gaps.conductance[links] * rounding + TINY
    settled &= (worst <= rounding) | (_largest(gaps.moved[:links]) <= FLOW_TOLERANCE * flow)
    return settled


def _step(net: NumberedNetwork, sets: _Sets, gaps: _Gaps) -> _Sets:
    order = net.layout.elimination
    p = order.solve(order.matrix(gaps.conductance), net.turned @ (sets.q + gaps.moved))
    np.negative(p, out=p)
    q = net.incidence @ p
    q *= gaps.conductance
    q += gaps.moved
    return replace(sets, p=p, q=q)


def _damped(
    net: NumberedNetwork, sets: _Sets, gaps: _Gaps, step: _Sets, pressure: Floats, flow: Floats
) -> tuple[_Sets, _Gaps, Bools]:
    before = _norm(net, gaps, pressure, flow)
    new = sets.moved(step, 1.0)
    there = _gaps(net, new)
    share = 1.0
    bad = np.flatnonzero(~(_norm(net, there, pressure, flow) <= np.maximum((1.0 - ENOUGH) * before, 1e-22)))
    while bad.size and share > SMALLEST_STEP:
        share *= 0.5
        less = sets.take(bad).moved(step.take(bad), share)
        less_gaps = _gaps(net, less)
        new.put(bad, less)
        there.put(bad, less_gaps)
        enough = np.maximum((1.0 - ENOUGH * share) * before[bad], 1e-22)
        bad = bad[~(_norm(net, less_gaps, pressure[bad], flow[bad]) <= enough)]
    stuck = np.zeros(len(sets.which), dtype=bool)
    stuck[bad] = True
    return new, there, stuck


def _norm(net: NumberedNetwork, gaps: _Gaps, pressure: Floats, flow: Floats) -> Floats:
    pressure = np.maximum(pressure, TINY)
    norm: Floats = np.einsum("ij,ij->j", gaps.link, gaps.link) / pressure / pressure
    if net.curve is not None:
        norm += (gaps.moved[-1] / np.maximum(flow, TINY)) ** 2
    return norm


def _keep(net: NumberedNetwork, sets: _Sets, gaps: _Gaps, iteration: int, done: BatchSolution) -> None:
    which, links = sets.which, len(gaps.link)
    done.pressures[: len(sets.p), which] = sets.p
    done.flows[:, which] = sets.q[:links]
    done.residual[which] = _largest(gaps.link)
    done.iterations[which] = iteration
    if net.curve is None:
        return
    static = 0.0 - gaps.drops[links]
    done.blower_flow[which], done.static[which] = sets.q[links], static
    s = net.curve.statics
    below, above = (s[0] - static) / (s[1] - s[0]), (static - s[-1]) / (s[-1] - s[-2])
    done.beyond[which] = np.maximum(np.maximum(below, above), 0.0)
    done.valid[which] = done.beyond[which] <= 1.0


def _solve_alone(
    network: Network, net: NumberedNetwork, k: Floats, scale: float, column: int, done: BatchSolution
) -> None:
    links = tuple(replace(link, k=float(value)) for link, value in zip(network.links, k, strict=True))
    blower = network.blower
    if blower is not None:
        blower = replace(blower, curve=blower.curve.scaled(scale))
    answer = solve(replace(network, links=links, blower=blower), layout=net.layout)
    done.pressures[:, column] = [answer.pressures[node] for node in done.nodes]
    done.flows[:, column] = [answer.flows[link] for link in done.links]
    done.residual[column] = answer.residual
    done.iterations[column] = answer.iterations
    done.alone[column] = True
    done.valid[column] = answer.valid
    if net.curve is not None and answer.blower_flow is not None and answer.static is not None:
        done.blower_flow[column], done.static[column] = answer.blower_flow, answer.static
        done.beyond[column] = net.curve.beyond(answer.static)
