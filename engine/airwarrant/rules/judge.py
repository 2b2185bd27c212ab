"""Judging: one reading against one limit gives one word, with everything that went into it."""

from collections.abc import Callable, Collection, Mapping, Sequence
from math import hypot
from operator import attrgetter
from typing import Any, NamedTuple

from airwarrant.calculations.figures import take_step
from airwarrant.calculations.verdict import compare, probability
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.readings import Reading
from airwarrant.policy.access import Reader
from airwarrant.policy.model import Check, Limit, Ref
from airwarrant.rules.facts import Subject
from airwarrant.rules.numbers import Number, worst
from airwarrant.rules.prepared import BAND_FACTOR, Prepared
from airwarrant.rules.seen import Seen
from airwarrant.units import UNITS, convert, number

_VALUE = attrgetter("value")

#: (subject key, field, time) -> the reading, or nothing
Source = Callable[[str, str, str], Reading | None]


class Verdict(NamedTuple):
    """What a check said of one subject at one time.

    `considered` holds every limit that was there to choose from, `limit` the one that governed; `missing` names what was
    absent; `reads` the policy values read.
    """

    check: str
    subject: str
    time: str
    word: str
    reading: Number | None
    limit: Number | None
    considered: tuple[Number, ...]
    band: float
    margin: float | None
    probability: float | None
    missing: tuple[str, ...]
    reads: tuple[str, ...]

    @property
    def id(self) -> str:
        return f"{self.check}@{self.subject}/{self.time}"

    def rests_on(self, readings: Collection[tuple[str, str]]) -> bool:
        """Whether the verdict was made with any of these readings, by (key, field)."""
        numbers = (self.reading, *self.considered)
        return any(number_ is not None and number_.rests_on(readings) for number_ in numbers)

    def as_json(self) -> dict[str, Any]:
        """Return the verdict for the result file."""
        out: dict[str, Any] = {
            "id": self.id,
            "check": self.check,
            "subject": self.subject,
            "time": self.time,
            "word": self.word,
        }
        if self.reading is not None:
            out["reading"] = self.reading.as_json()
        if self.limit is not None and self.reading is not None:
            unit = self.reading.unit
            out["limit"] = self.limit.as_json()
            if len(self.considered) > 1:
                out["considered"] = [c.as_json() for c in self.considered]
            out["band"] = number(self.band, unit)
            out["margin"] = number(self.margin or 0.0, unit)
            out["probability"] = round(self.probability or 0.0, 3)
        if self.missing:
            out["missing"] = list(self.missing)
        out["policy"] = list(self.reads)
        return out


#: Answers of one judge; see `Judge.known`.
Known = Mapping[tuple[str, str, str], Verdict | None]
#: A number made before, with what was missing and which policy values were read for it.
_Made = tuple[Number | None, Sequence[str], tuple[tuple[str, str], ...]]


class Judge:
    """Judges the checks of one policy on one job's readings.

    Parameters
    ----------
    prepared : Prepared
        The policy, made ready.
    subjects : mapping of kind to subjects
    source : callable
        Gives a reading by subject key, field and time.
    doubts : mapping of (subject key, field) to percent
        Readings whose ± a rule has widened, as a share of the reading.
    seen : Seen or None
        Is told of every verdict and of every policy value that was asked for.
    known : mapping or None
        Answers that are known already, as `known` gives them.
    """

    def __init__(
        self,
        prepared: Prepared,
        subjects: Mapping[str, tuple[Subject, ...]],
        source: Source,
        doubts: Mapping[tuple[str, str], float] | None = None,
        seen: Seen | None = None,
        known: Known | None = None,
    ) -> None:
        self._prepared = prepared
        self._policy = prepared.policy
        self._subjects = subjects
        self._source = source
        self._doubts = doubts or {}
        self._seen = seen
        self._reader = Reader(prepared.policy, None if seen is None else seen.reads)
        self._house = subjects["house"][0]
        self._missing: list[str] = []
        self._known: dict[tuple[str, str, str], _Made] = {}
        self._judged: dict[tuple[str, str, str], Verdict | None] = dict(known or {})

    def judge_all(
        self, time: str, *, keep_unmeasured: bool, only: Collection[str] | None = None
    ) -> dict[tuple[str, str, str], Verdict]:
        """Judge every check, or `only` some, for every subject of its kind at one time, each once, in name and key order."""
        verdicts = {}
        for name, check in self._policy.checks.items():
            if only is not None and name not in only:
                continue
            for subject in self._subjects.get(check.each, ()):
                asked = (name, time, subject.key)
                if asked not in self._judged:
                    silent = not keep_unmeasured and self._number(check.reading, subject, time) is None
                    self._judged[asked] = None if silent else self.judge(check, subject, time)
                verdict = self._judged[asked]
                if verdict is not None and (keep_unmeasured or verdict.reading is not None):
                    verdicts[asked] = verdict
        return verdicts

    @property
    def known(self) -> Known:
        """What `judge_all` has judged: by (check, time, subject key) a verdict, or None where there was nothing to judge."""
        return self._judged

    def judge(self, check: Check, subject: Subject, time: str) -> Verdict:
        """Judge one check for one subject."""
        self.start()
        reading = self._number(check.reading, subject, time)
        if reading is not None and check.needs and time != "predicted" and reading.state not in check.needs:
            self._missing.append(f"{reading.name} is {reading.state}; this check needs it {' or '.join(check.needs)}")
            reading = None
        if reading is None:
            return self._verdict(check, subject, time, "unmeasured", None)
        limits = [self._limit(one, check.times, subject, time, reading.unit) for one in check.limits]
        considered = tuple([limit for limit in limits if limit is not None])
        if not considered:
            return self._verdict(check, subject, time, "unmeasured", reading)
        limit = considered[0]
        at_most = check.must_be in ("at most", "below")
        if len(considered) > 1:
            lowest = at_most == (check.choose != "loosest_limit")
            limit = (min if lowest else max)(considered, key=_VALUE)
        self._reader.parameter(BAND_FACTOR)
        band = self._prepared.band_factor * hypot(reading.plus_minus, limit.plus_minus)
        word = compare(reading.value, limit.value, check.must_be, band, reading.unit, check.doubt)
        if word == "pass" and reading.state == "doubtful":
            # A number from beyond a table or a formula's range never passes a check by itself.
            word = "fail" if check.doubt == "against" else "close"
        margin = limit.value - reading.value if at_most else reading.value - limit.value
        chance = probability(margin, band)
        return self._verdict(check, subject, time, word, reading, limit, considered, band, margin, chance)

    def start(self) -> None:
        """Forget which policy values were read, and what was missing."""
        self._reader.start()
        self._missing = []

    @property
    def reads(self) -> tuple[str, ...]:
        """Names of the policy values read since `start`."""
        return self._reader.names

    @property
    def missing(self) -> tuple[str, ...]:
        """What was asked for since `start` and is not known, as often as it was asked for."""
        return tuple(self._missing)

    def number(self, ref: Ref, subject: Subject, time: str) -> Number | None:
        """The number behind a reference for a subject at a time, or None where it is unknown."""
        return self._number(ref, subject, time)

    def _verdict(
        self,
        check: Check,
        subject: Subject,
        time: str,
        word: str,
        reading: Number | None,
        limit: Number | None = None,
        considered: tuple[Number, ...] = (),
        band: float = 0.0,
        margin: float | None = None,
        chance: float | None = None,
    ) -> Verdict:
        verdict = Verdict(
            check.name,
            subject.key,
            time,
            word,
            reading,
            limit,
            considered,
            band,
            margin,
            chance,
            tuple(dict.fromkeys(self._missing)),
            self.reads,
        )
        if self._seen is not None:
            self._seen.verdicts.append(verdict)
        return verdict

    def _number(self, ref: Ref, subject: Subject, time: str) -> Number | None:
        match ref.form:
            case "field" | "figure" | "given":
                return self._named(ref.name, subject, time)
            case "quantity":
                return self._prepared.quantities[ref.value, ref.unit]
            case "parameter":
                self._reader.parameter(ref.name)
                return self._prepared.parameters[ref.name]
            case "table":
                return self._table(ref.name, subject, time)
            case _:
                return self._named(ref.name, self._house, time)

    def _named(self, name: str, subject: Subject, time: str) -> Number | None:
        """Find a field or figure of the subject, else of the house."""
        figure, own = self._prepared.standings[subject.kind, name]
        owner = subject if own else self._house
        asked = (name, owner.key, time)
        known = self._known.get(asked)
        if known is None:
            missed, read = len(self._missing), self._reader.count
            number_ = self._figure(name, owner, time) if figure else self._reading(name, owner, time)
            self._known[asked] = (number_, self._missing[missed:], self._reader.since(read))
            return number_
        # Many checks read one figure: it is made once, and what it read and missed counts for each of them.
        number_, missing, reads = known
        if missing:
            self._missing += missing
        if reads:
            self._reader.again(reads)
        return number_

    def _reading(self, name: str, subject: Subject, time: str) -> Number | None:
        reading = self._source(subject.key, name, time)
        if reading is None:
            self._missing.append(name if subject.key == HOUSE_KEY else f"{name} of {subject.key}")
            return None
        field = KINDS[subject.kind].fields[name]
        plus_minus, doubt_from = reading.plus_minus, ""
        if plus_minus is None:
            plus_minus, doubt_from = self._usual_doubt(name, reading, field.unit)
        if (subject.key, name) in self._doubts and time == "found":
            wider = abs(reading.value) * self._doubts[subject.key, name] / 100.0
            plus_minus, doubt_from = (wider, "rule") if wider > plus_minus else (plus_minus, doubt_from)
        state = "record" if field.form == "number" else reading.state
        return Number(
            "reading",
            name,
            reading.value,
            field.unit,
            plus_minus,
            state,
            subject.key,
            reading=reading,
            doubt_from=doubt_from,
        )

    def _usual_doubt(self, name: str, reading: Reading, unit: str) -> tuple[float, str]:
        """± that policy gives a reading whose record gives none, and the table it comes from."""
        table = self._prepared.usual.get(name)
        row = self._reader.table_row(table, name) if table else None
        if table is None or row is None:
            return 0.0, ""
        table_unit = self._policy.tables[table].unit
        share = table_unit == "%"
        return abs(reading.value) * row[0] / 100.0 if share else _difference(row[0], table_unit, unit), table

    def _figure(self, name: str, subject: Subject, time: str) -> Number | None:
        figure = self._policy.figures[name]
        if figure.step == "sum_over":
            found = [self._named(figure.take, other, time) for other in self._subjects.get(figure.over, ())]
            if not found:
                self._missing.append(f"no {figure.over} in the record")
        else:
            found = [self._number(ref, subject, time) for ref in figure.refs]
        if figure.step in ("largest_known_of", "first_known_of"):
            found = [part for part in found if part is not None]
            found = found[:1] if figure.step == "first_known_of" else found
        parts = tuple([part for part in found if part is not None])
        if not parts or len(parts) < len(found):
            return None
        step = take_step(figure.step, [_value_and_doubt(part) for part in parts])
        if step is None:
            self._missing.append(f"{name} divides by zero")
            return None
        factor = UNITS[figure.unit].factor
        return Number(
            "figure",
            name,
            step[0] / factor,
            figure.unit,
            step[1] / factor,
            worst(parts),
            subject.key,
            figure.step,
            parts,
        )

    def _table(self, name: str, subject: Subject, time: str) -> Number | None:
        table = self._policy.tables[name]
        if not table.by_unit:
            owner = subject if table.by in KINDS[subject.kind].fields else self._house
            key: float | str = owner.word(table.by)
        else:
            number_ = self._named(table.by, subject, time)
            if number_ is None:
                return None
            key = convert(number_.value, number_.unit, table.by_unit)
        row = self._reader.table_row(name, key)
        if row is None:
            self._missing.append(f"table {name} has no row for {key}")
            return None
        return Number("table", name, row[0], table.unit, row=row[1])

    def _limit(self, limit: Limit, times: Ref | None, subject: Subject, time: str, unit: str) -> Number | None:
        base = self._number(limit.of, subject, time)
        if base is None:
            return None
        changed = limit.less is not None or limit.more is not None or times is not None
        if base.unit == unit and not changed:
            return base
        value, parts, doubt = convert(base.value, base.unit, unit), [base], _scale(base, unit)
        if not changed:
            return base._replace(value=value, unit=unit, plus_minus=doubt)
        for ref, sign in ((limit.less, -1.0), (limit.more, 1.0)):
            if ref is None:
                continue
            change = self._number(ref, subject, time)
            if change is None:
                return None
            parts.append(change)
            if change.unit == "%":
                value *= 1.0 + sign * change.value / 100.0
                doubt *= 1.0 + sign * change.value / 100.0
            else:
                value += sign * convert(change.value, change.unit, unit)
        if times is not None:
            share = self._number(times, subject, time)
            if share is None:
                return None
            parts.append(share)
            value, doubt = value * _si(share.value, share.unit), doubt * _si(share.value, share.unit)
        return Number("limit", base.name, value, unit, doubt, parts=tuple(parts), step="limit")


def _difference(value: float, from_unit: str, to_unit: str) -> float:
    """Convert a width, which has no zero point of its own: 1 F diff is 1 F wide."""
    return value * UNITS[from_unit].factor / UNITS[to_unit].factor


def _si(value: float, unit: str) -> float:
    return value * UNITS[unit].factor + UNITS[unit].offset


def _value_and_doubt(part: Number) -> tuple[float, float]:
    """Value and ± of a number, SI."""
    unit = UNITS[part.unit]
    return part.value * unit.factor + unit.offset, part.plus_minus * unit.factor


def _scale(base: Number, unit: str) -> float:
    return base.plus_minus * UNITS[base.unit].factor / UNITS[unit].factor
