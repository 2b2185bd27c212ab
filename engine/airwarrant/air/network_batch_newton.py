"""Newton's method on many sets of numbers at once: arrays of (links, sets)."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network_law import LinkLaw
from airwarrant.air.network_layout import NumberedNetwork
from airwarrant.air.network_newton import (
    ENOUGH,
    FLOW_TOLERANCE,
    LIMIT,
    PRESSURE_TOLERANCE,
    ROUNDING,
    SMALLEST_STEP,
    TINY,
)

Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]


@dataclass(slots=True)
class Sets:
    """Sets under way; columns are sets, rows of `q` the links, then the blower. Not frozen: one owner, inside one call."""

    which: Ints
    law: LinkLaw
    scale: Floats
    p: Floats
    q: Floats

    def take(self, some: Ints | Bools) -> "Sets":
        law = self.law._replace(k=self.law.k[:, some])
        return Sets(self.which[some], law, self.scale[some], self.p[:, some], self.q[:, some])

    def put(self, some: Ints, other: "Sets") -> None:
        self.p[:, some], self.q[:, some] = other.p, other.q

    def moved(self, step: "Sets", share: float) -> "Sets":
        if share == 1.0:
            return self.at(self.p + step.p, self.q + step.q)
        return self.at(self.p + share * step.p, self.q + share * step.q)

    def at(self, p: Floats, q: Floats) -> "Sets":
        """The same sets at other pressures and flows."""
        return Sets(self.which, self.law, self.scale, p, q)


@dataclass(slots=True)
class Gaps:
    """As `Gap` of one set, columns are sets."""

    drops: Floats
    link: Floats
    conductance: Floats
    moved: Floats

    def take(self, some: Ints | Bools) -> "Gaps":
        return Gaps(self.drops[:, some], self.link[:, some], self.conductance[:, some], self.moved[:, some])

    def put(self, some: Ints, other: "Gaps") -> None:
        self.drops[:, some], self.link[:, some] = other.drops, other.link
        self.conductance[:, some], self.moved[:, some] = other.conductance, other.moved


def gaps_of(net: NumberedNetwork, sets: Sets) -> Gaps:
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
    return Gaps(drops, link, conductance, moved)


def iterate(net: NumberedNetwork, sets: Sets, keep: Callable[[Sets, Gaps, int], None]) -> list[int]:
    """Newton on all sets; gives those that settle, with the iteration, to `keep` and returns the sets that did not get there."""
    lost: list[int] = []
    gaps = gaps_of(net, sets)
    for iteration in range(LIMIT + 1):
        pressure, flow = largest(gaps.drops), largest(sets.q)
        there = _settled(net, sets, gaps, pressure, flow)
        if there.any():
            if there.all():
                keep(sets, gaps, iteration)
                return lost
            keep(sets.take(there), gaps.take(there), iteration)
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


def largest(values: Floats) -> Floats:
    largest: Floats = np.abs(values).max(axis=0, initial=0.0)
    return largest


def _settled(net: NumberedNetwork, sets: Sets, gaps: Gaps, pressure: Floats, flow: Floats) -> Bools:
    worst = largest(gaps.link)
    rounding = ROUNDING * np.maximum(largest(sets.p), net.held_largest)
    settled: Bools = worst <= np.maximum(np.maximum(PRESSURE_TOLERANCE * pressure, rounding), TINY)
    if not settled.any():
        return settled
    links = len(gaps.link)
    if net.curve is not None:
        settled &= np.abs(gaps.moved[links]) <= FLOW_TOLERANCE * flow + gaps.conductance[links] * rounding + TINY
    settled &= (worst <= rounding) | (largest(gaps.moved[:links]) <= FLOW_TOLERANCE * flow)
    return settled


def _step(net: NumberedNetwork, sets: Sets, gaps: Gaps) -> Sets:
    order = net.layout.elimination
    p = order.solve(order.matrix(gaps.conductance), net.turned @ (sets.q + gaps.moved))
    np.negative(p, out=p)
    q = net.incidence @ p
    q *= gaps.conductance
    q += gaps.moved
    return sets.at(p, q)


def _damped(
    net: NumberedNetwork, sets: Sets, gaps: Gaps, step: Sets, pressure: Floats, flow: Floats
) -> tuple[Sets, Gaps, Bools]:
    before = _norm(net, gaps, pressure, flow)
    new = sets.moved(step, 1.0)
    there = gaps_of(net, new)
    share = 1.0
    bad = np.flatnonzero(~(_norm(net, there, pressure, flow) <= np.maximum((1.0 - ENOUGH) * before, 1e-22)))
    while bad.size and share > SMALLEST_STEP:
        share *= 0.5
        less = sets.take(bad).moved(step.take(bad), share)
        less_gaps = gaps_of(net, less)
        new.put(bad, less)
        there.put(bad, less_gaps)
        enough = np.maximum((1.0 - ENOUGH * share) * before[bad], 1e-22)
        bad = bad[~(_norm(net, less_gaps, pressure[bad], flow[bad]) <= enough)]
    stuck = np.zeros(len(sets.which), dtype=bool)
    stuck[bad] = True
    return new, there, stuck


def _norm(net: NumberedNetwork, gaps: Gaps, pressure: Floats, flow: Floats) -> Floats:
    pressure = np.maximum(pressure, TINY)
    norm: Floats = np.einsum("ij,ij->j", gaps.link, gaps.link) / pressure / pressure
    if net.curve is not None:
        norm += (gaps.moved[-1] / np.maximum(flow, TINY)) ** 2
    return norm
