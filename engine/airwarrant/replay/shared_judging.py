"""Checks that two policies have in common: what they answer of one job's readings is judged once."""

from collections.abc import Iterator, Mapping

from airwarrant.house.room_targets import Target
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.judged import Judged
from airwarrant.policy.checks import limit_refs
from airwarrant.policy.digest import same_meaning
from airwarrant.policy.model import Policy, Ref
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
    usual = {name for policy in (one, other) for name in policy.tables if name.startswith("plus_minus_")}
    every = {("parameter", BAND_FACTOR), *(("table", name) for name in usual)}
    if not all(_same_value(one, other, form, name) for form, name in every):
        return frozenset()
    return frozenset(
        name
        for name in one.checks.keys() & other.checks.keys()
        if same_meaning(one.checks[name], other.checks[name]) and _same_below(one, other, _refs(one, name))
    )


def _refs(policy: Policy, check: str) -> Iterator[Ref]:
    held = policy.checks[check]
    yield held.reading
    for limit in held.limits:
        yield from limit_refs(limit)
    if held.times is not None:
        yield held.times


def _same_below(one: Policy, other: Policy, refs: Iterator[Ref]) -> bool:
    """Whether all that these references rest on, down to values, is the same in both."""
    left, done = [(ref.form, ref.name) for ref in refs], set[tuple[str, str]]()
    while left:
        form, name = asked = left.pop()
        if asked in done or form == "quantity":
            continue
        done.add(asked)
        if form in ("parameter", "table"):
            if not _same_value(one, other, form, name):
                return False
            if form == "table" and one.tables[name].by_unit:
                left.append(("figure", one.tables[name].by))
        elif name in one.figures or name in other.figures:
            mine, theirs = one.figures.get(name), other.figures.get(name)
            if mine is None or theirs is None or not same_meaning(mine, theirs):
                return False
            left += [(ref.form, ref.name) for ref in mine.refs]
            if mine.take:
                left.append(("figure", mine.take))
    return True


def _same_value(one: Policy, other: Policy, form: str, name: str) -> bool:
    if form == "parameter":
        return same_meaning(one.parameters.get(name), other.parameters.get(name))
    return same_meaning(one.tables.get(name), other.tables.get(name))
