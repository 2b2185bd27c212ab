"""The house's air network: resistances between nodes, one blower, solved for every pressure and flow.

Unknown are the flows of the links and the pressures of the free nodes. Newton's method on both, with the flows eliminated, needs
one symmetric positive definite solve a step and keeps continuity exact (E. Todini, S. Pilati, "A gradient algorithm for the
analysis of pipe networks", 1988). Where it does not get there, a convex function of the pressures does.
"""

import numpy as np

from airwarrant.air.blower_curve import BlowerCurve, CurveError, Floats
from airwarrant.air.network_convex import descend
from airwarrant.air.network_layout import NetworkLayout, lay_out
from airwarrant.air.network_newton import Reached, State, first_guess, gap_of, newton, nodal_matrix, nodal_solve
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
    "NotConverged",
    "Solution",
    "solve",
]


_MENDINGS = 3


def solve(network: Network) -> Solution:
    """Solve a network.

    Parameters
    ----------
    network : Network

    Returns
    -------
    Solution
        Links meet their laws to 1e-10 of the largest drop. Flows balance to rounding in a house, to 1e-9 of the largest flow
        where resistances lie twelve powers of ten apart.

    Raises
    ------
    NetworkError
        No links join a node to a fixed pressure; named.
    NotConverged
        Neither path reached a solution; not seen in thousands of random networks.
    """
    net = lay_out(network)
    # Numbers that overflow on a trial step make its norm infinite or NaN: the step is refused, and no such state is ever accepted.
    with np.errstate(over="ignore", invalid="ignore"):
        try:
            solution = _solve(network, net)
        except np.linalg.LinAlgError as error:
            raise NotConverged(network, "the resistances lie too far apart for double precision") from error
    if not np.isfinite([*solution.flows.values(), *solution.pressures.values(), solution.residual]).all():
        raise NotConverged(network, "the numbers leave double precision")
    return solution


def _solve(network: Network, net: NetworkLayout) -> Solution:
    start = first_guess(net)
    reached = newton(net, start)
    notes: tuple[str, ...] = ()
    if not reached.converged:
        spent = reached.iterations
        reached = descend(net)
        reached = Reached(reached.state, reached.gap, spent + reached.iterations, reached.converged)
        notes = (CONVEX_PATH,)
    if not reached.converged:
        raise NotConverged(network, f"no solution within {reached.iterations} iterations")
    return _told(net, _continuous(net, reached), notes)


def _imbalance(net: NetworkLayout, state: State) -> Floats:
    off: Floats = net.incidence.T @ state.q - net.fan * state.fan_flow
    return off


def _continuous(net: NetworkLayout, reached: Reached) -> Reached:
    """Once more for continuity alone, when a link near no flow has turned rounding of the pressures into flow."""
    for _ in range(_MENDINGS):
        state, gap = reached.state, reached.gap
        off = _imbalance(net, state)
        largest = max(float(np.abs(state.q).max(initial=0.0)), abs(state.fan_flow))
        if float(np.abs(off).max(initial=0.0)) <= 1e-14 * largest:
            break
        p = nodal_solve(nodal_matrix(net, gap.conductance, gap.fan_slope), -off)
        q = state.q + gap.conductance * (net.incidence @ p)
        mended = State(state.p + p, q, state.fan_flow + gap.fan_slope * float(net.fan @ p))
        reached = Reached(mended, gap_of(net, mended), reached.iterations, True)
    return reached


def _told(net: NetworkLayout, reached: Reached, notes: tuple[str, ...]) -> Solution:
    state, gap = reached.state, reached.gap
    beyond = net.curve.beyond(gap.static) if net.curve is not None else 0.0
    if beyond > 0.0:
        notes += (BEYOND_TABLE,)
    if beyond > 1.0:
        notes += (FAR_BEYOND_TABLE,)
    return Solution(
        pressures=dict(zip((*net.free, *net.held), (*state.p.tolist(), *net.held_pressures.tolist()), strict=True)),
        flows=dict(zip(net.links, state.q.tolist(), strict=True)),
        blower_flow=state.fan_flow if net.curve is not None else None,
        static=gap.static if net.curve is not None else None,
        residual=float(np.abs(gap.link).max(initial=0.0)),
        imbalance=float(np.abs(_imbalance(net, state)).max(initial=0.0)),
        iterations=reached.iterations,
        valid=beyond <= 1.0,
        notes=notes,
    )
