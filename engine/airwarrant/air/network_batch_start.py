"""Where many sets of numbers start: on a straight line from one solution, or each from its own guess."""

from typing import NamedTuple

import numpy as np

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network import solve
from airwarrant.air.network_batch_newton import Ints, Sets
from airwarrant.air.network_law import LinkLaw
from airwarrant.air.network_layout import NumberedNetwork
from airwarrant.air.network_newton import gap_of, typical
from airwarrant.air.network_parts import Network, NotConverged, Solution
from airwarrant.air.network_sensitivity import derivatives
from airwarrant.air.network_warm import state_of

# Logarithm of a resistance's or scale's ratio to the network's own up to which a straight line from its solution starts a set.
_NEAR = 1.0


class Line(NamedTuple):
    """The network's own solution and how it moves with its parameters: pressures (free,) and flows (rows,)."""

    p: Floats
    q: Floats
    p_by: Floats
    q_by: Floats


def line_of(network: Network, net: NumberedNetwork, start: Solution | None) -> Line | None:
    """None where the network's own numbers have no solution in double precision: sets need not share that."""
    try:
        own = state_of(net, solve(network, start, net.layout))
        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
            p_by, q_by, _ = derivatives(net, own, gap_of(net, own))
    except (NotConverged, np.linalg.LinAlgError):
        return None
    if not (np.isfinite(p_by).all() and np.isfinite(q_by).all()):
        return None
    return Line(own.p, own.q, p_by, q_by)


def start_of(net: NumberedNetwork, line: Line | None, block: Ints, k: Floats, scale: Floats) -> Sets:
    """Sets near the network's own numbers start on the straight line from its solution, others from a guess of their own."""
    exponent, half, tail = (row[:, None] for row in net.law[1:])
    law = LinkLaw(k, exponent, half, tail)
    if line is None:
        return _guessed(net, Sets(block, law, scale, scale, scale))
    along = np.log(np.vstack((k / net.law.k[:, None], scale)))
    # Derivatives of continuity are continuous too, so every state on the line is.
    p, q = line.p_by @ along, line.q_by @ along
    p += line.p[:, None]
    q += line.q[:, None]
    sets = Sets(block, law, scale, p, q)
    far = np.flatnonzero(~(np.abs(along).max(axis=0) <= _NEAR))
    if far.size:
        sets.put(far, _guessed(net, sets.take(far)))
    return sets


def _guessed(net: NumberedNetwork, sets: Sets) -> Sets:
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
    return sets.at(p, conductance + constant)
