"""One network with many sets of resistances, solved together."""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network import solve
from airwarrant.air.network_batch_newton import Bools, Gaps, Ints, Sets, iterate, largest
from airwarrant.air.network_batch_start import line_of, start_of
from airwarrant.air.network_layout import NetworkLayout, NumberedNetwork, numbered
from airwarrant.air.network_parts import Network, NetworkError, Solution

# Sets taken together: many outweigh the calls they share, and memory stays bounded.
BLOCK = 1000


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
    line = line_of(network, net, start)
    # As in `solve`: a trial step that overflows is refused.
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        for first in range(0, count, BLOCK):
            block = np.arange(first, min(first + BLOCK, count))
            sets = start_of(net, line, block, k[:, block], scale[block])
            for column in iterate(net, sets, partial(_keep, net, done)):
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


def _keep(net: NumberedNetwork, done: BatchSolution, sets: Sets, gaps: Gaps, iteration: int) -> None:
    which, links = sets.which, len(gaps.link)
    done.pressures[: len(sets.p), which] = sets.p
    done.flows[:, which] = sets.q[:links]
    done.residual[which] = largest(gaps.link)
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
