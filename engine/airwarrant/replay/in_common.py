"""What two policies have in common: checks and sizes that come to the same of the same readings, worked out once for a job."""

from collections.abc import Callable, Iterable
from typing import Generic, TypeVar

from airwarrant.policy.digest import same_meaning
from airwarrant.policy.model import Policy, Ref
from airwarrant.policy.rests_on import Key, below, check_refs
from airwarrant.policy.sizes import size_refs
from airwarrant.policy.steering import PLUS_MINUS
from airwarrant.rules.prepared import BAND_FACTOR, Prepared
from airwarrant.rules.seen import Seen

Made = TypeVar("Made")
#: Pairs of policies remembered; a replay of many markets has one or two each.
_MOST_PAIRS = 64


class InCommon(Generic[Made]):
    """Remembers what was made of one job under each policy, and what pairs of policies have in common.

    Parameters
    ----------
    find : callable
        Names the blocks that two policies have in common.
    """

    def __init__(self, find: Callable[[Policy, Policy], frozenset[str]]) -> None:
        self._find = find
        self._made: list[tuple[Prepared, Made]] = []
        self._known: dict[tuple[Prepared, Prepared], frozenset[str]] = {}

    def like(
        self, prepared: Prepared, seen: Seen | None, fits: Callable[[Made], bool]
    ) -> tuple[Made, frozenset[str]] | None:
        """What was made of this job (`fits`) under another policy, and the blocks in common; nothing for `seen`, who is told all."""
        if seen is not None:
            return None
        return next(((made, self._of(other, prepared)) for other, made in self._made if fits(made)), None)

    def add(self, prepared: Prepared, made: Made) -> Made:
        """Remember what was made under a policy; returns it."""
        self._made.append((prepared, made))
        return made

    def forget(self) -> None:
        """Let go of the last job."""
        self._made.clear()

    def _of(self, one: Prepared, other: Prepared) -> frozenset[str]:
        pair = (one, other)
        if pair not in self._known:
            while len(self._known) >= _MOST_PAIRS:
                self._known.pop(next(iter(self._known)))
            self._known[pair] = self._find(one.policy, other.policy)
        return self._known[pair]


def same_checks(one: Policy, other: Policy) -> frozenset[str]:
    """Checks that answer the same of the same readings under either policy, in the same words and from the same values."""
    if not _same_doubt(one, other):
        return frozenset()
    return frozenset(
        name
        for name, check in one.checks.items()
        if same_meaning(check, other.checks.get(name)) and _same_below(one, other, check_refs(check))
    )


def same_sizes(one: Policy, other: Policy) -> frozenset[str]:
    """Tasks whose lines come out the same size of the same readings under either policy."""
    if not _same_doubt(one, other):
        return frozenset()
    return frozenset(
        name
        for name, task in one.tasks.items()
        if name in other.tasks
        and same_meaning(task.sizes, other.tasks[name].sizes)
        and _same_below(one, other, size_refs(task))
    )


def _same_doubt(one: Policy, other: Policy) -> bool:
    """Whether both give a reading the same ±, and take as much of it for a verdict's band."""
    usual = {name for policy in (one, other) for name in policy.tables if name.startswith(PLUS_MINUS)}
    return all(_same(one, other, key) for key in {("parameter", BAND_FACTOR), *(("table", name) for name in usual)})


def _same_below(one: Policy, other: Policy, refs: Iterable[Ref]) -> bool:
    return all(_same(one, other, key) for key in below(one, refs))


def _same(one: Policy, other: Policy, key: Key) -> bool:
    form, name = key
    if form == "parameter":
        return same_meaning(one.parameters.get(name), other.parameters.get(name))
    if form == "table":
        return same_meaning(one.tables.get(name), other.tables.get(name))
    return same_meaning(one.figures.get(name), other.figures.get(name))
