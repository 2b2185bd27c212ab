"""Sizes that two policies have in common: what they come to for one job is worked out once."""

from collections.abc import Mapping

from airwarrant.job.record import JobRecord
from airwarrant.line_sizes import LineSizes
from airwarrant.replay.in_common import InCommon, same_sizes
from airwarrant.rules.facts import Subject
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.seen import Seen


class SharedSizes:
    """Sizes the lines of one record after the other; under the second policy only what that sizes otherwise."""

    def __init__(self) -> None:
        self._made: list[tuple[Prepared, LineSizes]] = []
        self._in_common = InCommon(same_sizes)

    def __call__(
        self,
        prepared: Prepared,
        record: JobRecord,
        subjects: Mapping[str, tuple[Subject, ...]],
        seen: Seen | None = None,
    ) -> LineSizes:
        like = None
        if seen is None:  # whoever watches is to be told of every value asked for
            like = next(
                (
                    (sizes, self._in_common.of(of, prepared))
                    for of, sizes in self._made
                    if sizes.sizes_of(record, subjects)
                ),
                None,
            )
        sizes = LineSizes(prepared, record, subjects, seen, like)
        self._made.append((prepared, sizes))
        return sizes

    def forget(self) -> None:
        """Let go of the last job."""
        self._made.clear()
