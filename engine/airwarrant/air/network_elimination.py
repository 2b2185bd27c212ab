"""The order in which a network's nodes are eliminated, found once and followed for every set of resistances."""

from dataclasses import dataclass

import numpy as np

from airwarrant.air.blower_curve import Floats
from airwarrant.air.network_layout import NetworkLayout


@dataclass(frozen=True, slots=True)
class Elimination:
    """Where each entry of the nodal matrix is kept, and what is done to it.

    Attributes
    ----------
    slots : int
        Entries of the matrix's one triangle, with those that fill in; diagonals come first.
    joins : tuple of (int, int, int, int)
        Per link: link, slot of one diagonal, of the other, and between; -1 where an end is held.
    fan : tuple of (int, int, int)
        The same for the blower.
    pivots : tuple of (int, tuple of (int, int), tuple of (int, int, int))
        Per node in order: the node, its later neighbours with the slot between, and updates (slot, slot of the factor, slot).
    """

    slots: int
    joins: tuple[tuple[int, int, int, int], ...]
    fan: tuple[int, int, int]
    pivots: tuple[tuple[int, tuple[tuple[int, int], ...], tuple[tuple[int, int, int], ...]], ...]

    def matrix(self, conductance: Floats, fan_slope: Floats) -> Floats:
        """Nodal matrix of every set, shape (slots, sets), from conductances (links, sets) and blower slopes (sets,)."""
        matrix = np.zeros((self.slots, conductance.shape[1]))
        for link, one, other, between in self.joins:
            value = conductance[link]
            if one >= 0:
                matrix[one] += value
            if other >= 0:
                matrix[other] += value
            if between >= 0:
                matrix[between] -= value
        one, other, between = self.fan
        if one >= 0:
            matrix[one] -= fan_slope
        if other >= 0:
            matrix[other] -= fan_slope
        if between >= 0:
            matrix[between] += fan_slope
        return matrix

    def solve(self, matrix: Floats, right: Floats) -> Floats:
        """Solve every set by Gauss elimination on the symmetric matrix; overwrites both, returns `right`, (free, sets)."""
        for node, later, updates in self.pivots:
            inverse = 1.0 / matrix[node]
            factors = {slot: matrix[slot] * inverse for _, slot in later}
            for target, factor, slot in updates:
                matrix[target] -= factors[factor] * matrix[slot]
            for neighbour, slot in later:
                right[neighbour] -= factors[slot] * right[node]
            right[node] *= inverse
            for slot, factor in factors.items():
                matrix[slot] = factor
        for node, later, _ in reversed(self.pivots):
            for neighbour, slot in later:
                right[node] -= matrix[slot] * right[neighbour]
        return right


def plan(net: NetworkLayout) -> Elimination:
    """Find an order: always the node with the fewest neighbours left, the first of them at a tie."""
    n = len(net.free)
    pairs = [(int(a), int(b)) for a, b in zip(net.a, net.b, strict=True)]
    slots: dict[tuple[int, int], int] = {(i, i): i for i in range(n)}
    near: dict[int, set[int]] = {i: set() for i in range(n)}

    def slot(i: int, j: int) -> int:
        return slots.setdefault((min(i, j), max(i, j)), len(slots))

    def join(a: int, b: int) -> tuple[int, int, int]:
        one, other = (a if 0 <= a < n else -1), (b if 0 <= b < n else -1)
        if one < 0 or other < 0:
            return one, other, -1
        near[a].add(b)
        near[b].add(a)
        return one, other, slot(a, b)

    joins = tuple((link, *join(a, b)) for link, (a, b) in enumerate(pairs))
    fan = join(*net.fan_ends)
    pivots = []
    while near:
        node = min(near, key=lambda i: (len(near[i]), i))
        later = sorted(near.pop(node))
        updates = []
        for i in later:
            near[i].discard(node)
            near[i].update(j for j in later if j != i)
            updates += [(slot(i, j), slot(node, i), slot(node, j)) for j in later if j >= i]
        pivots.append((node, tuple((i, slot(node, i)) for i in later), tuple(updates)))
    return Elimination(len(slots), joins, fan, tuple(pivots))
