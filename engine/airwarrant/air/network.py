"""The house's air network: resistances between nodes, one blower, solved for every pressure and flow.

Unknown are the flows of the links and the pressures of the free nodes. Newton's method on both, with the flows eliminated, needs
one symmetric positive definite solve a step and keeps continuity exact (E. Todini, S. Pilati, "A gradient algorithm for the
analysis of pipe networks", 1988). Where it does not get there, a convex function of the pressures does.
"""

from math import isfinite

import numpy as np

from airwarrant.air.blower_curve import BlowerCurve, CurveError
from airwarrant.air.network_balance import balanced
from airwarrant.air.network_convex import descend
from airwarrant.air.network_layout import NetworkLayout, NumberedNetwork, lay_out, numbered
from airwarrant.air.network_newton import Reached, first_guess, newton
from airwarrant.air.network_parts import (
    BEYOND_TABLE,
    CONVEX_PATH,
    FAR_BEYOND_TABLE,
    Blower,
    Link,
    Network,
    NetworkError,
    NotConverged,
    Solution,
)
from airwarrant.air.network_warm import from_start

__all__ = [
    "BEYOND_TABLE",
    "CONVEX_PATH",
    "FAR_BEYOND_TABLE",
    "Blower",
    "BlowerCurve",
    "CurveError",
    "Link",
    "Network",
    "NetworkError",
    "NetworkLayout",
    "NotConverged",
    "Solution",
    "lay_out",
    "solve",
]


def solve(network: Network, start: Solution | None = None, layout: NetworkLayout | None = None) -> Solution:
    """Solve a network.

    Parameters
    ----------
    network : Network
    start : Solution, optional
        Of a network much like it: fewer iterations, the same answer within the tolerances below. Where it is of no use - a node is
        not in it, or it leads nowhere - the network is solved as without it.
    layout : NetworkLayout, optional
        What `lay_out` found for this network, or for one that differs in its numbers only.

    Returns
    -------
    Solution
        Links meet their laws to 1e-10 of the largest drop, or to rounding of the pressures. Flows balance to rounding of the
        largest flow.

    Raises
    ------
    NetworkError
        No links join a node to a fixed pressure; named. The layout is another network's.
    NotConverged
        Neither path reached a solution; not seen in thousands of random networks.
    """
    net = numbered(network, layout)
    # Numbers that overflow on a trial step make its norm infinite or NaN: the step is refused, and no such state is ever accepted.
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        if start is not None:
            reached = from_start(net, start)
            solution = None if reached is None else _told(net, balanced(net, reached), ())
            if solution is not None and isfinite(_sum(solution)):
                return solution
        solution = _cold(network, net)
    if not isfinite(_sum(solution)):
        raise NotConverged(network, "the numbers leave double precision")
    return solution


def _sum(solution: Solution) -> float:
    """A number that is finite only if all of a solution's are."""
    return sum(solution.flows.values()) + sum(solution.pressures.values()) + solution.residual + solution.imbalance


def _cold(network: Network, net: NumberedNetwork) -> Solution:
    try:
        reached = newton(net, first_guess(net))
    except np.linalg.LinAlgError:
        reached = None
    notes: tuple[str, ...] = ()
    if reached is None or not reached.converged:
        spent = 0 if reached is None else reached.iterations
        reached = descend(net)
        reached = Reached(reached.state, reached.gap, spent + reached.iterations, reached.converged)
        notes = (CONVEX_PATH,)
    if not reached.converged:
        raise NotConverged(network, f"no solution within {reached.iterations} iterations")
    return _told(net, balanced(net, reached), notes)


def _told(net: NumberedNetwork, reached: Reached, notes: tuple[str, ...]) -> Solution:
    layout, state, gap = net.layout, reached.state, reached.gap
    flows, pressures = state.q.tolist(), state.p.tolist()
    blower_flow = static = None
    beyond = 0.0
    if net.curve is not None:
        blower_flow, static = flows.pop(), 0.0 - gap.drops.item(len(flows))
        beyond = net.curve.beyond(static)
    if beyond > 0.0:
        notes += (BEYOND_TABLE,)
    if beyond > 1.0:
        notes += (FAR_BEYOND_TABLE,)
    return Solution(
        pressures=dict(zip((*layout.free, *layout.held), (*pressures, *net.held_pressures.tolist()), strict=True)),
        flows=dict(zip(layout.links, flows, strict=True)),
        blower_flow=blower_flow,
        static=static,
        residual=float(np.abs(gap.link).max(initial=0.0)),
        imbalance=float(np.abs(net.turned @ state.q).max(initial=0.0)),
        iterations=reached.iterations,
        valid=beyond <= 1.0,
        notes=notes,
    )
