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


class SharedJudging:
    """Judges one record after the other; under the second policy only what that judges otherwise."""

    def __init__(self) -> None:
        self._made: list[tuple[Prepared, Judged]] = []
        self._in_common = InCommon(same_checks)

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
                    (judged, self._in_common.of(of, prepared))
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
