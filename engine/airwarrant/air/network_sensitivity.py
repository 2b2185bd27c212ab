"""How the solution of an air network moves with its resistances and its blower: first derivatives at the solved state.

The laws of all links, of the blower and of continuity hold at a solution; the implicit-function theorem gives the derivatives of
every pressure and flow from one linear system, the last one of Newton's method.
"""

from dataclasses import dataclass

import numpy as np

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network_layout import NetworkLayout, NumberedNetwork, numbered
from airwarrant.air.network_newton import Gap, State, gap_of
from airwarrant.air.network_nodal import nodal_solve
from airwarrant.air.network_parts import Network, NetworkError, NotConverged, Solution
from airwarrant.air.network_warm import state_of


@dataclass(frozen=True, slots=True)
class Sensitivities:
    """Derivatives of a solution by ln k of every link and by the logarithm of the blower's flow scale.

    Parameters are the columns: one a link, in the order of ``network.links``, then the scale that every flow of the blower's table
    is multiplied by. A derivative times 0.01 is therefore the change that one percent makes. Without a blower the last column is 0.

    Attributes
    ----------
    nodes, links : tuple of str
        Names of the rows of `pressure` (held nodes last) and `flow`; the links also name all columns but the last.
    pressure : ndarray (nodes, parameters)
        Of every node's pressure [Pa]; 0 for held nodes.
    flow : ndarray (links, parameters)
        Of every link's flow [m3/s], positive from its `a` to its `b`.
    blower_flow, static : ndarray (parameters,)
        Of the blower's flow [m3/s] and its external static [Pa]; zeros without a blower. On an exactly flat table the flow depends
        on its scale alone.
    """

    nodes: tuple[str, ...]
    links: tuple[str, ...]
    pressure: Floats
    flow: Floats
    blower_flow: Floats
    static: Floats


def sensitivities(network: Network, solution: Solution, layout: NetworkLayout | None = None) -> Sensitivities:
    """First derivatives at a solved state.

    Parameters
    ----------
    network : Network
    solution : Solution
        Of this network.
    layout : NetworkLayout, optional
        As for `solve`.

    Raises
    ------
    NetworkError
        The solution lacks a node or link of the network, or the layout is another network's.
    NotConverged
        Double precision does not hold the derivatives.

    References
    ----------
    W. Rudin, Principles of Mathematical Analysis, 3rd ed. (1976), theorem 9.28 (implicit functions).
    """
    net = numbered(network, layout)
    names = net.layout
    state = state_of(net, solution)
    _refuse_incomplete(net, state)
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        try:
            p, q, drops = derivatives(net, state, gap_of(net, state))
        except np.linalg.LinAlgError as error:
            raise NotConverged(network, "the resistances lie too far apart for double precision") from error
    if not (np.isfinite(p).all() and np.isfinite(q).all()):
        raise NotConverged(network, "the derivatives leave double precision")
    links, parameters = len(names.links), p.shape[1]
    pressure = np.zeros((len(names.free) + len(names.held), parameters))
    pressure[: len(names.free)] = p
    nothing = np.zeros(parameters)
    return Sensitivities(
        (*names.free, *names.held),
        names.links,
        pressure,
        q[:links],
        nothing if net.curve is None else q[links],
        nothing if net.curve is None else -drops[links],
    )


def derivatives(net: NumberedNetwork, state: State, gap: Gap) -> tuple[Floats, Floats, Floats]:
    """Derivatives of free pressures (free, parameters), flows and drops (rows, parameters) at a state that meets the laws.

    Parameters are ln k of every link, then the logarithm of the blower's flow scale.
    """
    links, rows = len(net.law.k), len(net.offset)
    # What the flow of each row would gain of its own parameter if no pressure moved.
    own = np.empty(links + 1)
    own[:links] = (gap.link - gap.drops[:links]) * gap.conductance[:links]
    own[links] = 0.0 if net.curve is None else state.q[links]
    right = np.zeros((len(net.turned), links + 1))
    np.multiply(net.turned, own[:rows], out=right[:, :rows])
    p = np.negative(nodal_solve(net, gap.conductance, right))
    drops: Floats = net.incidence @ p
    q = drops * gap.conductance[:, None]
    diagonal = np.arange(rows)
    q[diagonal, diagonal] += own[:rows]
    return p, q, drops


def _refuse_incomplete(net: NumberedNetwork, state: State) -> None:
    names = net.layout
    rows = (*names.links, "blower")
    lacks = [names.free[i] for i in np.flatnonzero(np.isnan(state.p))] + [
        rows[i] for i in np.flatnonzero(np.isnan(state.q))
    ]
    if lacks:
        raise NetworkError(f"this solution is of another network: it lacks {', '.join(f'`{name}`' for name in lacks)}")
