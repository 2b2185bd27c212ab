"""Where each fact of an evaluation stands in the fixed record that is kept of it: one layout for each policy."""

from collections.abc import Iterable, Iterator
from functools import cached_property
from hashlib import sha256

import numpy as np

from airwarrant.job.dictionary import KINDS
from airwarrant.policy.model import Policy
from airwarrant.replay.program import program

#: Raised when what the facts mean changes.
FORMAT = "airwarrant/reach/2"
TIMES = ("found", "predicted", "test-out")
WORDS = ("pass", "fail", "close", "unmeasured")

Key = tuple[str, ...]


class Layout:
    """Places of the facts of one policy's evaluations.

    A record holds `bits`, one for each thing that was read, fired, concluded, scoped or bought; for each check the `words` given at
    each time; and for each check how far its limit may be moved (`free`: down and up by a difference in SI, down and up by a ratio)
    before the first word becomes another.

    Attributes
    ----------
    bits : mapping
        Place of each bit by what it says: ``("read", name, part)``, ``("rule", name)``, ``("finding", name)``, ``("line", task)``,
        ``("kind", kind)``, ``("scoped", task)``, ``("item" | "crew" | "factor", name)``, ``("unpriced",)``.
    checks : mapping
        Place of each check.
    stamp : bytes
        32 bytes; facts with another stamp are of another policy, program or format.
    """

    def __init__(self, policy: Policy) -> None:
        self.policy = policy
        self.bits = {key: at for at, key in enumerate(dict.fromkeys(_keys(policy)))}
        self.checks = {name: at for at, name in enumerate(policy.checks)}
        text = "\n".join((FORMAT, program(), policy.digest))
        self.stamp = sha256(text.encode()).digest()

    @cached_property
    def dtype(self) -> np.dtype[np.void]:
        """One record."""
        count = len(self.checks)
        return np.dtype(
            [("bits", "u1", ((len(self.bits) + 7) // 8,)), ("words", "<u2", (count,)), ("free", "<f4", (count, 4))]
        )

    def table(self, name: str) -> Iterator[Key]:
        """Every bit that says that a table was asked."""
        yield ("read", name, "rows")
        for row in range(len(self.policy.tables[name].rows)):
            yield ("read", name, f"rows[{row}]")


def word_bit(time: str, word: str) -> int:
    """Place of a word in the words of a check."""
    return TIMES.index(time) * len(WORDS) + WORDS.index(word)


def _keys(policy: Policy) -> Iterable[Key]:
    for name in policy.parameters:
        yield ("read", name, "value")
    for name, table in policy.tables.items():
        yield ("read", name, "rows")
        for row in range(len(table.rows)):
            yield ("read", name, f"rows[{row}]")
    for name, rule in policy.rules.items():
        yield ("rule", name)
        for then in rule.then:
            if then.what in ("finding", "line"):
                yield (then.what, then.name)
    for kind in KINDS:
        yield ("kind", kind)
    for name in policy.tasks:
        yield ("scoped", name)
    if policy.prices is not None:
        for what, several in (
            ("item", policy.prices.items), ("crew", policy.prices.crews), ("factor", policy.prices.factors)
        ):  # fmt: skip
            for name in several:
                yield (what, name)
    yield ("unpriced",)
