"""The verdicts of one job: what was read, with the doubt that rules leave on it, and every prediction, each judged once."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

from airwarrant.house.predict import Prediction
from airwarrant.house.room_targets import Target
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.fields import EXPECTED
from airwarrant.job.lookup import reading, test_out_visits
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.rules.facts import Subject
from airwarrant.rules.judge import Judge, Known
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.seen import Seen
from airwarrant.rules.verdict import Verdict

Verdicts = dict[tuple[str, str, str], Verdict]
#: (subject key, field) -> by how much its ± is widened, as a percentage of the reading.
Doubts = Mapping[tuple[str, str], float]

NOTHING = Prediction("", {})
#: A room's design airflow.
_SHARE = "target"


class Judged:
    """Judges one job.

    Parameters
    ----------
    prepared : Prepared
    record : JobRecord
    subjects : mapping of kind to subjects
    targets : mapping of room to Target
        Design airflow, for rooms whose record has none.
    air_found : mapping of (key, field) to Reading
        What the house's air network adds to the readings found.
    seen : Seen or None
        Is told of all that is judged.
    like : (Judged, collection of str) or None
        The same job judged under another policy, and the checks that give the same answer of the same readings under both.
    """

    def __init__(
        self,
        prepared: Prepared,
        record: JobRecord,
        subjects: Mapping[str, tuple[Subject, ...]],
        targets: Mapping[str, Target],
        air_found: Mapping[tuple[str, str], Reading],
        seen: Seen | None = None,
        like: tuple["Judged", Collection[str]] | None = None,
    ) -> None:
        self._seen = seen
        self._like = like
        self._prepared = prepared
        self._record = record
        self._subjects = subjects
        self._by_key = {subject.key: subject for several in subjects.values() for subject in several}
        self._targets = targets
        self._air_found = air_found
        self._judges: dict[Prediction, Judge] = {}
        #: by the names that a prediction tells
        self._untold_by: dict[frozenset[str], Known] = {}

    def read(self, find_doubts: Callable[[Verdicts], Doubts], plain: Collection[str]) -> Verdicts:
        """Judge what was read, and the sizes and nameplates of the new unit.

        Parameters
        ----------
        find_doubts : callable
            Readings whose ± rules widen, by the verdicts without that.
        plain : collection of str
            Checks that need no prediction.
        """
        found = self._of(NOTHING).judge_all("found", keep_unmeasured=True)
        doubts = find_doubts(found)
        if doubts:
            doubting = self._judge(NOTHING, doubts)
            for key, verdict in found.items():
                if verdict.rests_on(doubts):
                    subject = self._by_key[verdict.subject]
                    found[key] = doubting.judge(self._prepared.policy.checks[verdict.check], subject, "found")
        if test_out_visits(self._record):
            found |= self._of(NOTHING).judge_all("test-out", keep_unmeasured=False)
        return found | self.predicted(NOTHING, plain)

    def predicted(self, prediction: Prediction, only: Collection[str] | None = None) -> Verdicts:
        """Judge every check, or `only` some, on a prediction."""
        return self._of(prediction).judge_all("predicted", keep_unmeasured=False, only=only)

    def _untold(self, prediction: Prediction) -> Known:
        """Answers of the checks that rest on nothing a prediction tells: the same under each, and given once."""
        told = frozenset([name for _, name in prediction.readings])
        if not told:
            return {}
        if told not in self._untold_by:
            # Where a room has no target of its own, that is a share of what the registers give.
            untold = self._prepared.apart_from(told | {_SHARE})
            judge = self._of(NOTHING)
            judge.judge_all("predicted", keep_unmeasured=False, only=untold)
            answers = judge.known.items()
            self._untold_by[told] = {
                asked: one for asked, one in answers if asked[0] in untold and asked[1] == "predicted"
            }
        return self._untold_by[told]

    def one(self, asked: tuple[str, str, str], doubts: Doubts, prediction: Prediction = NOTHING) -> Verdict:
        """Judge one check of one subject at one time, by (check, time, key), apart from all others."""
        check, time, key = asked
        return self._judge(prediction, doubts).judge(self._prepared.policy.checks[check], self._by_key[key], time)

    def against(self, prediction: Prediction) -> Verdicts:
        """Judge the newest test-out against what was predicted of it: every check that reads an ``expected_`` reading."""
        newest = next(iter(test_out_visits(self._record)), None)
        if prediction is NOTHING or newest is None or newest.fan_setting not in ("", prediction.setting):
            return {}  # nothing was predicted of a house that runs at another fan setting

        def source(key: str, name: str, at: str) -> Reading | None:
            if name.startswith(EXPECTED):
                return prediction.readings.get((key, name.removeprefix(EXPECTED)))
            return reading(self._record, key, name, at)

        judge = Judge(self._prepared, self._subjects, source, seen=self._seen)
        return judge.judge_all("test-out", keep_unmeasured=False, only=self._prepared.expecting)

    def reads_as(
        self,
        record: JobRecord,
        subjects: Mapping[str, tuple[Subject, ...]],
        targets: Mapping[str, Target],
        air_found: Mapping[tuple[str, str], Reading],
    ) -> bool:
        """Whether this job was judged on the same readings."""
        same = record is self._record and targets == self._targets and air_found == self._air_found
        return same and subjects == self._subjects

    def _of(self, prediction: Prediction) -> Judge:
        """The judge of a prediction, or of what was read."""
        judge = self._judges.get(prediction)
        if judge is None:
            known = {**self._untold(prediction), **self._known(prediction)}
            judge = self._judges[prediction] = self._judge(prediction, known=known)
        return judge

    def _known(self, prediction: Prediction) -> Known:
        """What the other policy's judging of the same prediction has answered already."""
        if self._like is None:
            return {}
        other, same = self._like
        judge = other._judges.get(prediction)
        return {} if judge is None else {asked: one for asked, one in judge.known.items() if asked[0] in same}

    def _judge(self, prediction: Prediction, doubts: Doubts | None = None, known: Known | None = None) -> Judge:
        source = _Source(self._record, self._targets, self._air_found, prediction)
        return Judge(self._prepared, self._subjects, source, doubts, self._seen, known)


@dataclass(frozen=True, slots=True)
class _Source:
    """Readings of a job as it is judged; it holds on to nothing that holds on to it, so that a job is freed when it is done."""

    record: JobRecord
    targets: Mapping[str, Target]
    air_found: Mapping[tuple[str, str], Reading]
    prediction: Prediction

    def __call__(self, key: str, name: str, at: str) -> Reading | None:
        known = self.prediction.readings.get((key, name)) or reading(self.record, key, name, at)
        if known is not None:
            return known
        if name == _SHARE:
            return self._fair_share(key, self(HOUSE_KEY, "register_flow", at))
        return self.air_found.get((key, name)) if at == "found" else None

    def _fair_share(self, room: str, registers: Reading | None) -> Reading | None:
        """Design airflow of a room by its share of the load: of the air that the registers give, else of the design."""
        target = self.targets.get(room)
        if target is None or not target.for_checks:
            return None
        if registers is None or target.method == "written":
            return target.flow
        value = target.share * registers.value
        spread = (target.flow.plus_minus or 0.0) * value / target.flow.value if target.flow.value else 0.0
        return target.flow._replace(value=value, plus_minus=spread)
