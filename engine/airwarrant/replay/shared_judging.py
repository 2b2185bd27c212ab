"""Checks that two policies have in common: what they answer of one job's readings is judged once."""

from collections.abc import Mapping

from airwarrant.house.room_targets import Target
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.judged import Judged
from airwarrant.policy.digest import same_meaning
from airwarrant.policy.model import Policy
from airwarrant.policy.rests_on import Key, below, check_refs
from airwarrant.policy.steering import PLUS_MINUS
from airwarrant.rules.facts import Subject
from airwarrant.rules.prepared import BAND_FACTOR, Prepared
from airwarrant.rules.seen import Seen

#: Pairs of policies remembered; a replay of many markets has one or two each.
_MOST_PAIRS = 64


class SharedJudging:
    """Judges one record after the other; under the second policy only what that judges otherwise."""

    def __init__(self) -> None:
        self._made: list[tuple[Prepared, Judged]] = []
        self._same: dict[tuple[Prepared, Prepared], frozenset[str]] = {}

    def __call__(
        self,
        prepared: Prepared,
        record: JobRecord,
        subjects: Mapping[str, tuple[Subject, ...]],
        targets: Mapping[str, Target],
        air_found: Mapping[tuple[str, str], Reading],
        seen: Seen | None = None,
    ) -> Judged:
        like = None
        if seen is None:  # whoever watches is to be told of every verdict
            like = next(
                (
                    (judged, self._in_common(of, prepared))
                    for of, judged in self._made
                    if judged.reads_as(record, subjects, targets, air_found)
                ),
                None,
            )
        judged = Judged(prepared, record, subjects, targets, air_found, seen, like)
        self._made.append((prepared, judged))
        return judged

    def forget(self) -> None:
        """Let go of the last job."""
        self._made.clear()

    def _in_common(self, one: Prepared, other: Prepared) -> frozenset[str]:
        pair = (one, other)
        if pair not in self._same:
            while len(self._same) >= _MOST_PAIRS:
                self._same.pop(next(iter(self._same)))
            self._same[pair] = same_checks(one.policy, other.policy)
        return self._same[pair]


def same_checks(one: Policy, other: Policy) -> frozenset[str]:
    """Checks that answer the same of the same readings under either policy, in the same words and from the same values."""
    usual = {name for policy in (one, other) for name in policy.tables if name.startswith(PLUS_MINUS)}
    every = {("parameter", BAND_FACTOR), *(("table", name) for name in usual)}
    if not all(_same(one, other, key) for key in every):
        return frozenset()
    return frozenset(
        name
        for name, check in one.checks.items()
        if same_meaning(check, other.checks.get(name))
        and all(_same(one, other, key) for key in below(one, check_refs(check)))
    )


def _same(one: Policy, other: Policy, key: Key) -> bool:
    form, name = key
    if form == "parameter":
        return same_meaning(one.parameters.get(name), other.parameters.get(name))
    if form == "table":
        return same_meaning(one.tables.get(name), other.tables.get(name))
    return same_meaning(one.figures.get(name), other.figures.get(name))
