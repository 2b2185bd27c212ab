"""A solution of one network as the start for another that is much like it."""

from math import nan

import numpy as np

from airwarrant.air.network_layout import NumberedNetwork
from airwarrant.air.network_newton import Reached, State, lawful, newton
from airwarrant.air.network_parts import Solution

LIMIT = 15
"""Iterations before the start is given up: a cold one needs fewer."""

_BALANCED = 1e-9


def from_start(net: NumberedNetwork, start: Solution) -> Reached | None:
    """Newton's method from a solution; None where it lacks a node, or does not lead to an answer soon.

    Links that the solution lacks start with the flow of their law at its pressures.
    """
    p, q = state_of(net, start)
    if not np.isfinite(p).all():
        return None
    missing = np.isnan(q)
    if missing.any():
        q = np.where(missing, lawful(net, p).q, q)
    off, most = np.abs(net.turned @ q).max(initial=0.0), np.abs(q).max(initial=0.0)
    if not np.isfinite(most):
        return None
    reached = newton(net, State(p, q), continuous=bool(off <= _BALANCED * most), limit=LIMIT)
    return reached if reached.converged else None


def state_of(net: NumberedNetwork, solution: Solution) -> State:
    """A solution as arrays; NaN for what it lacks."""
    flows = [solution.flows.get(link, nan) for link in net.layout.links]
    if net.curve is not None:
        flows.append(nan if solution.blower_flow is None else solution.blower_flow)
    p = [solution.pressures.get(node, nan) for node in net.layout.free]
    return State(np.array(p, dtype=float), np.array(flows, dtype=float))
