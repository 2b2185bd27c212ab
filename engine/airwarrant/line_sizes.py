"""The sizes of the lines of one job: on what was found, each line once, and on what is predicted."""

from collections.abc import Collection, Mapping

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
    like : (LineSizes, collection of str) or None
        The same job sized under another policy, and the tasks whose lines come out the same of the same readings under both.
    """

    def __init__(
        self,
        prepared: Prepared,
        record: JobRecord,
        subjects: Mapping[str, tuple[Subject, ...]],
        seen: Seen | None = None,
        like: tuple["LineSizes", Collection[str]] | None = None,
    ) -> None:
        self._seen = seen
        self._prepared = prepared
        self._record = record
        self._subjects = subjects
        self._by_key = {subject.key: subject for several in subjects.values() for subject in several}
        self._judge = Judge(prepared, subjects, best_known(record, {}), seen=seen)
        self._found: dict[str, Sized | None] = {}
        self._predicted: dict[Prediction, dict[str, Sized | None]] = {}
        self._like = like

    def found(self, settled: Settled) -> dict[str, Sized]:
        """Return the size of every line that policy sizes, by the line's id."""
        return self._sizes(settled, self._judge, self._found, self._like[0]._found if self._like else {})

    def predicted(self, settled: Settled, prediction: Prediction) -> dict[str, Sized]:
        """Return the same, on what is predicted where that is known."""
        judge = Judge(self._prepared, self._subjects, best_known(self._record, prediction.readings), seen=self._seen)
        made = self._predicted.setdefault(prediction, {})
        return self._sizes(settled, judge, made, self._like[0]._predicted.get(prediction, {}) if self._like else {})

    def sizes_of(self, record: JobRecord, subjects: Mapping[str, tuple[Subject, ...]]) -> bool:
        """Whether it is this job that is sized."""
        return record is self._record and subjects == self._subjects

    def _sizes(
        self,
        settled: Settled,
        judge: Judge,
        made: dict[str, Sized | None],
        known: Mapping[str, Sized | None],
    ) -> dict[str, Sized]:
        """Size the lines that are not sized yet; those that another policy sizes alike and has sized are `known`."""
        same = self._like[1] if self._like else ()
        for line in settled.lines.values():
            if line.id not in made:
                shared = line.task in same and line.id in known
                made[line.id] = known[line.id] if shared else self._size(line, judge)
        sizes = ((line.id, made[line.id]) for line in settled.lines.values())
        return {line: sized for line, sized in sizes if sized is not None}

    def _size(self, line: Line, judge: Judge) -> Sized | None:
        policy = self._prepared.policy
        return size_line(policy, policy.tasks[line.task], self._by_key[line.place], judge)
