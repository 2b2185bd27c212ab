"""The order in which a network's nodes are eliminated, found once and followed for every set of resistances."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from airwarrant.air.blower_curve import Floats


@dataclass(frozen=True, slots=True)
class Elimination:
    """Where each entry of the nodal matrix is kept, and what is done to it.

    Attributes
    ----------
    slots : int
        Entries of the matrix's one triangle, with those that fill in; diagonals come first.
    joins : tuple of (int, int, int)
        Per row of the network (links, then the blower): slot of one diagonal, of the other, and between; -1 where an end is held.
    pivots : tuple of (int, tuple of (int, int), tuple of (int, int, int))
        Per node in order: the node, its later neighbours with the slot between, and updates (slot, slot of the factor, slot).
    """

    slots: int
    joins: tuple[tuple[int, int, int], ...]
    pivots: tuple[tuple[int, tuple[tuple[int, int], ...], tuple[tuple[int, int, int], ...]], ...]

    def matrix(self, conductance: Floats) -> Floats:
        """Nodal matrix of every set, shape (slots, sets), from conductances (rows, sets)."""
        matrix = np.zeros((self.slots, conductance.shape[1]))
        slots = list(matrix)
        for value, (one, other, between) in zip(conductance, self.joins, strict=True):
            if one >= 0:
                np.add(slots[one], value, out=slots[one])
            if other >= 0:
                np.add(slots[other], value, out=slots[other])
            if between >= 0:
                np.subtract(slots[between], value, out=slots[between])
        return matrix

    def solve(self, matrix: Floats, right: Floats) -> Floats:
        """Solve every set by Gauss elimination on the symmetric matrix; overwrites both, returns `right`, (free, sets)."""
        # Rows as views, changed in place: indexing the array anew would copy each result once more.
        rows, answers = list(matrix), list(right)
        spare = np.empty(matrix.shape[1])
        for node, later, updates in self.pivots:
            inverse = np.divide(1.0, rows[node], out=rows[node])
            factors = {slot: rows[slot] * inverse for _, slot in later}
            for target, factor, slot in updates:
                np.multiply(factors[factor], rows[slot], out=spare)
                np.subtract(rows[target], spare, out=rows[target])
            answer = answers[node]
            for neighbour, slot in later:
                np.multiply(factors[slot], answer, out=spare)
                np.subtract(answers[neighbour], spare, out=answers[neighbour])
                rows[slot] = factors[slot]
            np.multiply(answer, inverse, out=answer)
        for node, later, _ in reversed(self.pivots):
            answer = answers[node]
            for neighbour, slot in later:
                np.multiply(rows[slot], answers[neighbour], out=spare)
                np.subtract(answer, spare, out=answer)
        return right


def plan(n: int, ends: Sequence[tuple[int, int]]) -> Elimination:
    """Find an order: always the node with the fewest neighbours left, the first of them at a tie.

    Parameters
    ----------
    n : int
        Free nodes; they are numbered 0 to n - 1, and any other number is a held node.
    ends : sequence of (int, int)
        Per row of the network its two nodes.
    """
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

    joins = tuple([join(a, b) for a, b in ends])
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
    return Elimination(len(slots), joins, tuple(pivots))
