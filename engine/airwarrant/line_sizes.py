"""The sizes of the lines of one job: on what was found, each line once, and on what is predicted."""

from collections.abc import Mapping

from airwarrant.house.predict import Prediction
from airwarrant.job.record import JobRecord
from airwarrant.rules.facts import Subject
from airwarrant.rules.judge import Judge
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.seen import Seen
from airwarrant.scope.settle import Line, Settled
from airwarrant.sizing.line import size_line
from airwarrant.sizing.sized import Sized
from airwarrant.sizing.source import best_known


class LineSizes:
    """Sizes lines of one job.

    Parameters
    ----------
    prepared : Prepared
    record : JobRecord
    subjects : mapping of kind to subjects
    seen : Seen or None
        Is told of every policy value that a size asked for.
    """

    def __init__(
        self,
        prepared: Prepared,
        record: JobRecord,
        subjects: Mapping[str, tuple[Subject, ...]],
        seen: Seen | None = None,
    ) -> None:
        self._seen = seen
        self._prepared = prepared
        self._record = record
        self._subjects = subjects
        self._by_key = {subject.key: subject for several in subjects.values() for subject in several}
        self._judge = Judge(prepared, subjects, best_known(record, {}), seen=seen)
        self._found: dict[str, Sized | None] = {}

    def found(self, settled: Settled) -> dict[str, Sized]:
        """Return the size of every line that policy sizes, by the line's id."""
        for line in settled.lines.values():
            if line.id not in self._found:
                self._found[line.id] = self._size(line, self._judge)
        sizes = ((line.id, self._found[line.id]) for line in settled.lines.values())
        return {line: sized for line, sized in sizes if sized is not None}

    def predicted(self, settled: Settled, prediction: Prediction) -> dict[str, Sized]:
        """Return the same, on what is predicted where that is known."""
        source = best_known(self._record, prediction.readings)
        judge = Judge(self._prepared, self._subjects, source, seen=self._seen)
        sizes = ((line.id, self._size(line, judge)) for line in settled.lines.values())
        return {line: sized for line, sized in sizes if sized is not None}

    def _size(self, line: Line, judge: Judge) -> Sized | None:
        policy = self._prepared.policy
        return size_line(policy, policy.tasks[line.task], self._by_key[line.place], judge)
