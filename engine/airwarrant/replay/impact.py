"""One change of a policy and the jobs it can touch, told from facts alone."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from airwarrant.replay.facts import Facts
from airwarrant.replay.layout import Key, Layout

Touched = npt.NDArray[np.bool_]
Who = Literal["nobody", "some", "everyone"]


@dataclass(frozen=True, slots=True)
class Impact:
    """A changed block and which jobs it can touch.

    Attributes
    ----------
    section, name, title : str
        The block.
    who : {"nobody", "some", "everyone"}
        ``nobody``: only words, sources or rights changed. ``some``: `test` tells which.
    cannot : str
        Ends the sentence “This cannot change a job …”; for ``everyone`` says why every job is looked at.
    test : callable
        Facts, (jobs,) -> whether each job can change. Sound: a job that it leaves out comes out the same under both policies.
    """

    section: str
    name: str
    title: str
    who: Who
    cannot: str
    test: Callable[[Facts], Touched] = field(default=lambda facts: np.ones(len(facts), bool), repr=False)


def bits(facts: Facts, layout: Layout, keys: Iterable[Key]) -> Touched:
    """Whether any of these bits is set, for each job; a key that the layout does not know is set in none."""
    out = np.zeros(len(facts), bool)
    held = facts["bits"]
    for key in keys:
        at = layout.bits.get(key)
        if at is not None:
            out |= (held[:, at >> 3] >> np.uint8(at & 7)) & np.uint8(1) != 0
    return out


def words(facts: Facts, layout: Layout, check: str, given: Sequence[int]) -> Touched:
    """Whether a check gave any of these words, by their places, at least once."""
    at = layout.checks.get(check)
    mask = np.uint16(sum(1 << one for one in given))
    return np.ones(len(facts), bool) if at is None else (facts["words"][:, at] & mask) != 0


def judged(facts: Facts, layout: Layout, check: str) -> Touched:
    """Whether a check gave any word at all."""
    at = layout.checks.get(check)
    return np.ones(len(facts), bool) if at is None else facts["words"][:, at] != 0


def beyond(
    facts: Facts, layout: Layout, check: str, *, difference: float | None = None, ratio: float | None = None
) -> Touched:
    """Whether a limit of a check that moves by a difference in SI, or by a ratio, may give a value another word."""
    free = facts["free"][:, layout.checks[check]]
    if difference is not None:
        return ~((free[:, 0] < difference) & (difference < free[:, 1]))
    if ratio is not None:
        return ~((free[:, 2] < ratio) & (ratio < free[:, 3]))
    return np.ones(len(facts), bool)
