"""A network as arrays: which node is which column, and how links join them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwarrant.air.blower_curve import BlowerCurve, Floats
from airwarrant.air.network_parts import Network, NetworkError

Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class NetworkLayout:
    """Arrays of one network; free nodes come first, in order of appearance.

    Attributes
    ----------
    free, held : tuple of str
        Nodes to solve, and nodes with a known pressure.
    links : tuple of str
    held_pressures : ndarray (held,)
        Known pressures [Pa].
    held_largest : float
        The largest of them, without sign [Pa].
    a, b : ndarray (links,)
        Row of each link's ends in (free..., held...).
    incidence : ndarray (links, free)
        +1 at `a`, -1 at `b`; times the free pressures, plus `offset`, gives the drops.
    turned : ndarray (free, links)
        The incidence transposed, laid out row by row.
    offset : ndarray (links,)
        What held pressures add to the drops [Pa].
    k, exponent : ndarray (links,)
    curve : BlowerCurve or None
    fan : ndarray (free,)
        +1 at the blower's outlet, -1 at its inlet; times the free pressures, plus `fan_offset`, gives its static.
    fan_square : ndarray (free, free)
        Its product with itself.
    fan_offset : float
    fan_ends : tuple of int
        Rows of the blower's inlet and outlet; (-1, -1) without one.
    """

    free: tuple[str, ...]
    held: tuple[str, ...]
    links: tuple[str, ...]
    held_pressures: Floats
    held_largest: float
    a: Ints
    b: Ints
    incidence: Floats
    turned: Floats
    offset: Floats
    k: Floats
    exponent: Floats
    curve: BlowerCurve | None
    fan: Floats
    fan_square: Floats
    fan_offset: float
    fan_ends: tuple[int, int]


def lay_out(network: Network) -> NetworkLayout:
    """Turn a network into arrays.

    Raises
    ------
    NetworkError
        A node that no links join to a fixed pressure. A blower is no such path: on a plateau it fixes a flow, not a pressure.
    """
    links, blower, fixed = network.links, network.blower, network.fixed
    named = dict.fromkeys(node for link in links for node in (link.a, link.b))
    if blower is not None:
        named.update(dict.fromkeys((blower.a, blower.b)))
    held = tuple(fixed)
    free = tuple(node for node in named if node not in fixed)
    _refuse_adrift(network, free)
    row = {node: i for i, node in enumerate((*free, *held))}
    pressures: Floats = np.array([fixed[node] for node in held], dtype=float)
    a = np.array([row[link.a] for link in links], dtype=np.intp)
    b = np.array([row[link.b] for link in links], dtype=np.intp)
    whole = np.zeros((len(links), len(row)))
    order = np.arange(len(links))
    whole[order, a] = 1.0
    whole[order, b] = -1.0
    fan = np.zeros(len(row))
    ends = (-1, -1)
    if blower is not None:
        ends = (row[blower.a], row[blower.b])
        fan[ends[0]], fan[ends[1]] = -1.0, 1.0
    n = len(free)
    incidence = np.ascontiguousarray(whole[:, :n])
    return NetworkLayout(
        free,
        held,
        tuple(link.id for link in links),
        pressures,
        float(np.abs(pressures).max(initial=0.0)),
        a,
        b,
        incidence,
        np.ascontiguousarray(incidence.T),
        whole[:, n:] @ pressures,
        np.array([link.k for link in links], dtype=float),
        np.array([link.exponent for link in links], dtype=float),
        blower.curve if blower is not None else None,
        fan[:n],
        np.outer(fan[:n], fan[:n]),
        float(fan[n:] @ pressures),
        ends,
    )


def _refuse_adrift(network: Network, free: Sequence[str]) -> None:
    near: dict[str, list[str]] = {}
    for link in network.links:
        near.setdefault(link.a, []).append(link.b)
        near.setdefault(link.b, []).append(link.a)
    reached = set(network.fixed)
    front = list(reached)
    while front:
        for node in near.get(front.pop(), ()):
            if node not in reached:
                reached.add(node)
                front.append(node)
    adrift = [node for node in free if node not in reached]
    if adrift:
        names = ", ".join(f"`{node}`" for node in adrift)
        raise NetworkError(f"no links join these nodes to a node of fixed pressure: {names}")
