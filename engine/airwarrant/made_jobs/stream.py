"""Chance: one stream a job and purpose, so that a job does not depend on how many are made, nor one purpose on what another drew."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from itertools import accumulate
from statistics import NormalDist

import numpy as np

_NORMAL = NormalDist()
_BLOCK = 256
# Raw 64-bit words of a bit generator are fixed for good (NumPy Enhancement Proposal 19); numpy's own distributions are not.
_SHIFT, _STEP = 11, 2.0**-53


class Stream:
    """Random numbers of one job and purpose; the same for the same seed, job and purpose.

    Even ones are the same on every machine, to the last bit; normal ones as far as its library rounds a logarithm as others do.

    Parameters
    ----------
    seed : int
        At least 0.
    job : int
        Number of the job, from 1.
    purpose : int
        What the numbers are for.
    """

    def __init__(self, seed: int, job: int, purpose: int) -> None:
        self._bits = np.random.PCG64(np.random.SeedSequence(entropy=seed, spawn_key=(job, purpose)))
        self._block: list[float] = []

    def _next(self) -> float:
        """A number from 0 to below 1."""
        if not self._block:
            words = self._bits.random_raw(_BLOCK)
            self._block = ((words >> _SHIFT) * _STEP).tolist()
        return self._block.pop()

    def between(self, ends: Sequence[float]) -> float:
        """A number evenly spread between two ends."""
        low, high = ends
        return low + (high - low) * self._next()

    def happens(self, chance: float) -> bool:
        """Whether something of a chance from 0 to 1 comes about."""
        return self._next() < chance

    def normal(self, sd: float) -> float:
        """A number about 0 of a standard deviation, never more than three of them away."""
        # Half a step keeps the inverse away from 0, where it is not finite.
        z = _NORMAL.inv_cdf(self._next() + 0.5 * _STEP)
        return sd * max(-3.0, min(3.0, z))

    def chosen(self, weights: Mapping[str, float]) -> str:
        """One of several names, each with its weight."""
        sums = list(accumulate(weights.values()))
        return list(weights)[min(bisect_right(sums, self._next() * sums[-1]), len(sums) - 1)]

    def one_of(self, many: Sequence[str]) -> str:
        """One of several names, each as likely."""
        return many[min(int(self._next() * len(many)), len(many) - 1)]
