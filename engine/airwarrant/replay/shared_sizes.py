"""Sizes that two policies have in common: what they come to for one job is worked out once."""

from collections.abc import Mapping

from airwarrant.job.record import JobRecord
from airwarrant.line_sizes import LineSizes
from airwarrant.replay.in_common import InCommon, same_sizes
from airwarrant.rules.facts import Subject
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.seen import Seen


class SharedSizes(InCommon[LineSizes]):
    """Sizes the lines of one record after the other; under the second policy only what that sizes otherwise."""

    def __init__(self) -> None:
        super().__init__(same_sizes)

    def __call__(
        self,
        prepared: Prepared,
        record: JobRecord,
        subjects: Mapping[str, tuple[Subject, ...]],
        seen: Seen | None = None,
    ) -> LineSizes:
        like = self.like(prepared, seen, lambda sizes: sizes.sizes_of(record, subjects))
        return self.add(prepared, LineSizes(prepared, record, subjects, seen, like))
