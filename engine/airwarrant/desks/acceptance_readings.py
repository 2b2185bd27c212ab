"""Readings of a test-out: before, predicted and after side by side, and the error of the prediction."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from airwarrant.desks.tested_out import TestedOut
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.lookup import reading
from airwarrant.job.readings import Reading
from airwarrant.job.test_out import KIND
from airwarrant.rules.verdict import Verdict
from airwarrant.units import number


def readings_of(
    job: TestedOut, option: Mapping[str, Any] | None, targets: Iterable[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Return every reading that a target rests on, and every other that was taken; `option` is the prediction beside them."""
    return _Readings(job, option).all(targets)


def predicted_option(job: TestedOut) -> Mapping[str, Any] | None:
    """Return the prediction for the setting that was read, else for the chosen one."""
    options = job.result["predictions"]["options"]
    read = next((one for one in options if one["setting"] == job.visit.fan_setting), None)
    option: Mapping[str, Any] | None = read or job.result["predictions"]["scope"]
    return option


class _Readings:
    def __init__(self, job: TestedOut, option: Mapping[str, Any] | None) -> None:
        self._job = job
        self._option = option
        self._plus_minus = dict(_plus_minus(job.run.verdicts.values()))

    def all(self, targets: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
        asked = {(one["key"], one["field"]): None for target in targets for one in target["reads"]}
        for visit in self._job.record.visits:
            if visit.kind == KIND:
                asked |= dict.fromkeys(visit.readings)
        return [self._reading(key, field) for key, field in sorted(asked, key=self._rank)]

    def _rank(self, asked: tuple[str, str]) -> tuple[bool, str, int]:
        key, field = asked
        fields = list(KINDS[self._job.record.items[key].kind].fields)
        return key != HOUSE_KEY, key, fields.index(field)

    def _reading(self, key: str, name: str) -> dict[str, Any]:
        field = KINDS[self._job.record.items[key].kind].fields[name]
        before = reading(self._job.record, key, name, "found")
        after = reading(self._job.record, key, name, KIND)
        predicted = (self._option or {}).get("readings", {}).get(key, {}).get(name)
        out: dict[str, Any] = {
            "key": key,
            "name": self._job.name(key),
            "field": name,
            "title": field.title,
            "unit": field.unit,
            "before": self._taken(before, None),
            "predicted": dict(predicted) if predicted else None,
            "after": self._taken(after, (key, name)),
            "error": None,
        }
        if after is not None and predicted:
            error = after.value - predicted["value"]
            wide = predicted["plus_minus"]
            out["error"] = {
                "value": number(error, field.unit),
                "unit": field.unit,
                "in_plus_minus": round(error / wide, 2) if wide else None,
            }
        return out

    def _taken(self, one: Reading | None, at: tuple[str, str] | None) -> dict[str, Any] | None:
        if one is None:
            return None
        out: dict[str, Any] = {"value": number(one.value, one.unit), "unit": one.unit, "state": one.state}
        wide = one.plus_minus if one.plus_minus is not None else self._plus_minus.get(at) if at else None
        if wide:
            out["plus_minus"] = number(wide, one.unit)
        return {**out, **{name: text for name, text in (("by", one.by), ("instrument", one.instrument)) if text}}


def _plus_minus(verdicts: Iterable[Verdict]) -> Iterator[tuple[tuple[str, str], float]]:
    """± of every reading of the test-out that was judged, those of policy among them."""
    for verdict in verdicts:
        if verdict.time == KIND and verdict.reading is not None:
            yield from (
                ((one.subject, one.name), one.plus_minus) for one in verdict.reading.leaves() if one.form == "reading"
            )
