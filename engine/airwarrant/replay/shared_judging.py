"""Checks that two policies have in common: what they answer of one job's readings is judged once."""

from collections.abc import Mapping

from airwarrant.house.room_targets import Target
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.judged import Judged
from airwarrant.replay.in_common import InCommon, same_checks
from airwarrant.rules.facts import Subject
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.seen import Seen


class SharedJudging(InCommon[Judged]):
    """Judges one record after the other; under the second policy only what that judges otherwise."""

    def __init__(self) -> None:
        super().__init__(same_checks)

    def __call__(
        self,
        prepared: Prepared,
        record: JobRecord,
        subjects: Mapping[str, tuple[Subject, ...]],
        targets: Mapping[str, Target],
        air_found: Mapping[tuple[str, str], Reading],
        seen: Seen | None = None,
    ) -> Judged:
        like = self.like(prepared, seen, lambda judged: judged.reads_as(record, subjects, targets, air_found))
        return self.add(prepared, Judged(prepared, record, subjects, targets, air_found, seen, like))
