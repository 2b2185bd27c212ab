"""A changed network solved at one fan setting: at the point, linearly around it, or in every draw."""

from dataclasses import dataclass

import numpy as np

from airwarrant.air.blower_curve import BlowerCurve
from airwarrant.air.network import Solution, solve
from airwarrant.air.network_batch import solve_batch
from airwarrant.air.network_layout import NetworkLayout, lay_out
from airwarrant.air.network_parts import Blower, Link, Network
from airwarrant.air.network_sensitivity import sensitivities
from airwarrant.house.calibrate import INLET, LEAK, OUTLET
from airwarrant.house.changes import Altered
from airwarrant.house.inputs import Floats


@dataclass(frozen=True, slots=True)
class Solved:
    """Flows and pressures of a network over sets; the last axis is the set.

    Attributes
    ----------
    flows : ndarray (links, sets)
    flow, static : ndarray (sets,)
        Of the blower [m3/s], [Pa].
    inlet, outlet, plenum : ndarray (sets,)
        Pressures against the rooms [Pa].
    point : Solution
        Of set 0.
    """

    flows: Floats
    flow: Floats
    static: Floats
    inlet: Floats
    outlet: Floats
    plenum: Floats
    point: Solution


def network_of(altered: Altered, curve: BlowerCurve) -> Network:
    """The network of set 0."""
    links = tuple(
        Link(link.id, link.a, link.b, float(k[0]), link.exponent)
        for link, k in zip(altered.links, altered.k, strict=True)
    )
    return Network(altered.base.fixed, links, Blower(INLET, OUTLET, curve))


def drop_over(altered: Altered, solved: Solved, part: str) -> Floats:
    """Pressure lost over a piece [Pa], (sets,); one that a leak splits has several links."""
    return sum(
        (
            altered.k[i] * np.abs(solved.flows[i]) ** link.exponent
            for i, link in enumerate(altered.links)
            if link.part == part
        ),
        start=np.zeros(solved.flow.shape),
    )


#: Layouts of networks by the names of their links: most work changes resistances and leaves the links as they are.
Layouts = dict[tuple[str, ...], NetworkLayout]


def _layout(network: Network, layouts: Layouts) -> NetworkLayout:
    links = tuple(link.id for link in network.links)
    if links not in layouts:
        layouts[links] = lay_out(network)
    return layouts[links]


def solve_linear(altered: Altered, curve: BlowerCurve, scale: Floats, layouts: Layouts) -> Solved:
    """Solve set 0 and carry every other set along the tangent there.

    `scale` (sets,) is what each set multiplies the blower's flows by, 1 in set 0; `layouts` is kept by the caller.
    """
    network = network_of(altered, curve)
    layout = _layout(network, layouts)
    point = solve(network, layout=layout)
    slopes = sensitivities(network, point, layout)
    moved = np.vstack([_moved(altered), scale - 1.0])
    pressures = dict(zip(slopes.nodes, slopes.pressure @ moved, strict=True))
    plenum = altered.base.plenum

    def pressure(node: str) -> Floats:
        moves: Floats = pressures.get(node, np.zeros(moved.shape[1]))
        return np.asarray(point.pressures[node] + moves)

    flows = np.array([point.flows[link.id] for link in altered.links])[:, None] + slopes.flow @ moved
    return Solved(
        flows,
        np.asarray((point.blower_flow or 0.0) + slopes.blower_flow @ moved),
        np.asarray((point.static or 0.0) + slopes.static @ moved),
        pressure(INLET),
        pressure(OUTLET),
        pressure(plenum),
        point,
    )


def _moved(altered: Altered) -> Floats:
    """How far each set moves each link, as a change of ln k, (links, sets).

    A link was made from a drop or, if it is a leak, from a flow, and answers in proportion to that: so the step is taken along the
    drop or the flow, and not along the logarithm. At the point the three are one.
    """
    k = np.stack(altered.k)
    ratio = k / k[:, :1]
    moved = ratio - 1.0
    for row, link in enumerate(altered.links):
        if link.part.startswith(LEAK):
            moved[row] = link.exponent * (1.0 - ratio[row] ** (-1.0 / link.exponent))
    return np.asarray(moved)


def solve_drawn(altered: Altered, curve: BlowerCurve, scale: Floats, layouts: Layouts) -> Solved:
    """Solve every set by itself, all at once."""
    network = network_of(altered, curve)
    layout = _layout(network, layouts)
    point = solve(network, layout=layout)
    batch = solve_batch(network, np.stack(altered.k), scale, start=point, layout=layout)
    rows = {node: batch.pressures[i] for i, node in enumerate(batch.nodes)}
    return Solved(
        batch.flows,
        batch.blower_flow,
        batch.static,
        rows[INLET],
        rows[OUTLET],
        rows[altered.base.plenum],
        point,
    )
