"""What a prediction rests on and does not know for sure: one list of inputs with their spread, read as arrays over sets.

A set is one guess at all inputs together. Set 0 is the readings as they stand; the others move one input by one standard deviation
(linear propagation, JCGM 100:2008) or all at once at random (draws, JCGM 101:2008). Everything after reads arrays over sets, so that
one code serves the point, the linear and the drawn answer.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Input:
    """One uncertain input.

    Attributes
    ----------
    name : str
        ``house.return_static``, ``bed-2.flow``, or the policy parameter of an assumption.
    value, sd : float
        SI; `sd` is one standard deviation, half of the ± that record or policy give (coverage 2).
    """

    name: str
    value: float
    sd: float


@dataclass(slots=True)
class Inputs:
    """The inputs of one house, gathered while its network is built; the order is that of the building and never changes."""

    known: dict[str, Input] = field(default_factory=dict)

    def add(self, name: str, value: float, sd: float) -> str:
        """Take in an input once; a second call with the name leaves the first."""
        self.known.setdefault(name, Input(name, value, sd))
        return name

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(self.known)


@dataclass(frozen=True, slots=True)
class Sets:
    """Values of all inputs in every set.

    Attributes
    ----------
    names : tuple of str
    deviations : ndarray (inputs, sets)
        In standard deviations.
    """

    inputs: Inputs
    names: tuple[str, ...]
    deviations: Floats

    @property
    def count(self) -> int:
        return int(self.deviations.shape[1])

    def __getitem__(self, name: str) -> Floats:
        """Values of one input in every set, SI."""
        one = self.inputs.known[name]
        return np.asarray(one.value + one.sd * self.deviations[self.names.index(name)])

    def positive(self, name: str) -> Floats:
        """The same, never below a twentieth of the value itself: a drop or a flow does not turn round by a random error."""
        one = self.inputs.known[name]
        return np.asarray(np.maximum(self[name], 0.05 * one.value))


def linear_sets(inputs: Inputs) -> Sets:
    """The point, then each input one standard deviation up, then each one down: (inputs, 1 + 2 inputs)."""
    count = len(inputs.known)
    step = np.eye(count)
    return Sets(inputs, inputs.names, np.hstack([np.zeros((count, 1)), step, -step]))


def drawn_sets(inputs: Inputs, digest: str, count: int) -> Sets:
    """The point, then `count` random sets, the same for the same record: the generator starts from the record's digest."""
    generator = np.random.Generator(np.random.PCG64(int(digest[:32], 16)))
    drawn = generator.standard_normal((len(inputs.known), count))
    return Sets(inputs, inputs.names, np.hstack([np.zeros((len(inputs.known), 1)), drawn]))
