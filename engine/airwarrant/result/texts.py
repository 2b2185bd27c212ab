"""Texts of one run: policy wording with the run's own numbers in its holes."""

from airwarrant.result.wording import say
from airwarrant.rules.judge import Verdict
from airwarrant.rules.numbers import Number
from airwarrant.run import Run
from airwarrant.units import fixed


class Texts:
    """Texts of one run, filled from its verdicts."""

    def __init__(self, run: Run) -> None:
        self._run = run

    def say(self, ids: tuple[str, ...], place: str = "house", otherwise: str = "", language: str = "en") -> str:
        def numbers(check: str, part: str) -> str | None:
            verdicts = self._run.verdicts
            verdict = verdicts.get((check, "found", place)) or verdicts.get((check, "found", "house"))
            return self._part(verdict, part)

        return say(self._run.policy.said, ids, numbers, place, language, otherwise)

    def _part(self, verdict: Verdict | None, part: str) -> str | None:
        if verdict is None or verdict.reading is None:
            return None
        if part == "reading":
            return verdict.reading.text()
        if part == "date":
            return self._date(verdict.reading)
        if verdict.limit is None or verdict.margin is None:
            return None
        value = verdict.limit.value if part == "limit" else abs(verdict.margin)
        return f"{fixed(value, verdict.reading.unit)} {verdict.reading.unit}"

    def _date(self, number: Number) -> str | None:
        """Day of the visit of a reading; of a figure, of its first part that was read on a visit."""
        index = number.reading.visit if number.reading is not None else None
        if index is not None:
            return next(str(visit.date) for visit in self._run.record.visits if visit.index == index)
        return next((day for part in number.parts if (day := self._date(part))), None)
