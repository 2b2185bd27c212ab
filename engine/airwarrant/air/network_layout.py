"""A network as arrays: which node is which column, how links join them, and the numbers they carry."""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airwarrant.air.blower_curve import BlowerCurve, Floats
from airwarrant.air.network_elimination import Elimination, plan
from airwarrant.air.network_law import LinkLaw, law_of
from airwarrant.air.network_parts import Network, NetworkError


@dataclass(frozen=True)
class NetworkLayout:
    """How a network hangs together, without a number; it serves every network of the same nodes, links and blower's place.

    Rows of flows and drops are the links in their order, then the blower if there is one: it is one more row, from its inlet to
    its outlet, whose drop is its static with the sign turned. Free nodes come first, in order of appearance.

    Attributes
    ----------
    free, held : tuple of str
        Nodes to solve, and nodes with a known pressure.
    links : tuple of str
    joins : tuple of (str, str, str)
        Every link's name, `a` and `b`.
    blower : tuple of (str, str) or None
        The blower's inlet and outlet.
    ends : tuple of (int, int)
        Per row its two ends in (free..., held...).
    incidence : ndarray (rows, free)
        +1 at a row's first end, -1 at its second; times the free pressures, plus what held ones add, gives the drops.
    turned : ndarray (free, rows)
        The incidence transposed, laid out row by row.
    held_incidence : ndarray (rows, held)
        The same for held nodes.
    """

    free: tuple[str, ...]
    held: tuple[str, ...]
    links: tuple[str, ...]
    joins: tuple[tuple[str, str, str], ...]
    blower: tuple[str, str] | None
    ends: tuple[tuple[int, int], ...]
    incidence: Floats
    turned: Floats
    held_incidence: Floats

    @cached_property
    def elimination(self) -> Elimination:
        """Order in which the nodes are eliminated when many sets are solved together."""
        return plan(len(self.free), self.ends)

    def fits(self, network: Network) -> bool:
        """Whether a network has these nodes, links and blower's place, in this order."""
        blower = network.blower
        return (
            self.blower == (None if blower is None else (blower.a, blower.b))
            and self.held == tuple(network.fixed)
            and self.joins == tuple((link.id, link.a, link.b) for link in network.links)
        )


class NumberedNetwork(NamedTuple):
    """A layout with one network's numbers.

    Attributes
    ----------
    layout : NetworkLayout
    incidence, turned : ndarray
        The layout's.
    offset : ndarray (rows,)
        What held pressures add to the drops [Pa].
    held_pressures : ndarray (held,)
        Known pressures [Pa].
    held_largest : float
        The largest of them, without sign [Pa].
    law : LinkLaw
        Of the links, shapes (links,).
    curve : BlowerCurve or None
    """

    layout: NetworkLayout
    incidence: Floats
    turned: Floats
    offset: Floats
    held_pressures: Floats
    held_largest: float
    law: LinkLaw
    curve: BlowerCurve | None


def lay_out(network: Network) -> NetworkLayout:
    """Find how a network hangs together.

    Raises
    ------
    NetworkError
        A node that no links join to a fixed pressure. A blower is no such path: on a plateau it fixes a flow, not a pressure.
    """
    blower = network.blower
    joins = tuple((link.id, link.a, link.b) for link in network.links)
    row: dict[str, int] = {}
    held = tuple(network.fixed)
    for _, a, b in joins:
        row[a] = row[b] = 0
    if blower is not None:
        row[blower.a] = row[blower.b] = 0
    free = tuple(node for node in row if node not in network.fixed)
    _refuse_adrift(network, joins, free)
    row = {node: i for i, node in enumerate((*free, *held))}
    ends = [(row[a], row[b]) for _, a, b in joins]
    if blower is not None:
        ends.append((row[blower.a], row[blower.b]))
    whole = np.zeros((len(ends), len(row)))
    flat, width = whole.reshape(-1), len(row)
    flat[[i * width + a for i, (a, _) in enumerate(ends)]] = 1.0
    flat[[i * width + b for i, (_, b) in enumerate(ends)]] = -1.0
    n = len(free)
    incidence = np.ascontiguousarray(whole[:, :n])
    return NetworkLayout(
        free,
        held,
        tuple([link for link, _, _ in joins]),
        joins,
        None if blower is None else (blower.a, blower.b),
        tuple(ends),
        incidence,
        np.ascontiguousarray(incidence.T),
        whole[:, n:],
    )


def numbered(network: Network, layout: NetworkLayout | None = None) -> NumberedNetwork:
    """A network's numbers on its layout; on a kept `layout`, if one is given.

    Raises
    ------
    NetworkError
        As `lay_out`; also a kept layout that is another network's.
    """
    if layout is None:
        layout = lay_out(network)
    elif not layout.fits(network):
        raise NetworkError("this layout was made for a network of other nodes, links or blower; call `lay_out` anew")
    pressures: Floats = np.array([float(p) for p in network.fixed.values()])
    pairs = np.array([(link.k, link.exponent) for link in network.links], dtype=float).reshape(-1, 2)
    return NumberedNetwork(
        layout,
        layout.incidence,
        layout.turned,
        layout.held_incidence @ pressures,
        pressures,
        max(map(abs, network.fixed.values()), default=0.0),
        law_of(np.ascontiguousarray(pairs[:, 0]), np.ascontiguousarray(pairs[:, 1])),
        network.blower.curve if network.blower is not None else None,
    )


def _refuse_adrift(network: Network, joins: tuple[tuple[str, str, str], ...], free: tuple[str, ...]) -> None:
    reached = set(network.fixed)
    waiting, before = list(joins), -1
    # Passes over the links still waiting, to and fro so that a long chain costs few of them.
    while waiting and len(reached) != before:
        before = len(reached)
        still = []
        for join in reversed(waiting):
            _, a, b = join
            if a in reached:
                reached.add(b)
            elif b in reached:
                reached.add(a)
            else:
                still.append(join)
        waiting = still
    adrift = [node for node in free if node not in reached]
    if adrift:
        names = ", ".join(f"`{node}`" for node in adrift)
        raise NetworkError(f"no links join these nodes to a node of fixed pressure: {names}")
