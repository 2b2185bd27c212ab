"""Judging: one reading against one limit gives one word, with everything that went into it."""

from collections.abc import Callable, Collection, Mapping
from math import hypot
from operator import attrgetter

from airwarrant.calculations.figures import take_step
from airwarrant.calculations.verdict import compare, probability
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.readings import Reading
from airwarrant.policy.access import Read, names_of, table_read
from airwarrant.policy.model import Check, Figure, Ref, Table
from airwarrant.rules.facts import Subject
from airwarrant.rules.numbers import Number, worst
from airwarrant.rules.plans import CheckPlan, LimitPlan, Made, Plan
from airwarrant.rules.prepared import BAND_FACTOR, Prepared
from airwarrant.rules.seen import Seen
from airwarrant.rules.verdict import Verdict
from airwarrant.units import UNITS, convert, to_si

_VALUE = attrgetter("value")
_BAND: tuple[Read, ...] = ((BAND_FACTOR, "value"),)

#: (subject key, field, time) -> the reading, or nothing
Source = Callable[[str, str, str], Reading | None]


#: Answers of one judge; see `Judge.known`.
Known = Mapping[tuple[str, str, str], Verdict | None]


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
        self._subjects = subjects
        self._source = source
        self._doubts = doubts or {}
        self._seen = seen
        self._house = subjects["house"][0]
        self._missing: list[str] = []
        self._reads: list[Read] = []
        self._known: dict[tuple[str, str, str], Made] = {}
        self._judged: dict[tuple[str, str, str], Verdict | None] = dict(known or {})

    def judge_all(
        self, time: str, *, keep_unmeasured: bool, only: Collection[str] | None = None
    ) -> dict[tuple[str, str, str], Verdict]:
        """Judge every check, or `only` some, for every subject of its kind at one time, each once, in name and key order."""
        verdicts, judged = {}, self._judged
        for name, plan in self._prepared.checks.items():
            if only is not None and name not in only:
                continue
            for subject in self._subjects.get(plan.check.each, ()):
                asked = (name, time, subject.key)
                if asked in judged:
                    verdict = judged[asked]
                else:
                    silent = not keep_unmeasured and self._make(plan.reading, subject, time)[0] is None
                    verdict = judged[asked] = None if silent else self._judge(plan, subject, time)
                if verdict is not None and (keep_unmeasured or verdict.reading is not None):
                    verdicts[asked] = verdict
        return verdicts

    @property
    def known(self) -> Known:
        """What `judge_all` has judged: by (check, time, subject key) a verdict, or None where there was nothing to judge."""
        return self._judged

    def judge(self, check: Check, subject: Subject, time: str) -> Verdict:
        """Judge one check of the policy for one subject."""
        return self._judge(self._prepared.checks[check.name], subject, time)

    def start(self) -> None:
        """Forget what `number` read, and what was missing for it."""
        self._missing, self._reads = [], []

    @property
    def reads(self) -> tuple[str, ...]:
        """Names of the policy values that `number` read since `start`."""
        return names_of(self._reads)

    @property
    def missing(self) -> tuple[str, ...]:
        """What `number` was asked for since `start` and is not known, as often as it was asked for."""
        return tuple(self._missing)

    def number(self, ref: Ref, subject: Subject, time: str) -> Number | None:
        """The number behind a reference for a subject at a time, or None where it is unknown."""
        found, missing, reads = self._make(self._prepared.plans.of(ref, subject.kind), subject, time)
        self._missing += missing
        self._reads += reads
        self._tell(reads)
        return found

    def _judge(self, plan: CheckPlan, subject: Subject, time: str) -> Verdict:
        check = plan.check
        reading, missing, reads = self._make(plan.reading, subject, time)
        if reading is not None and check.needs and time != "predicted" and reading.state not in check.needs:
            wanted = " or ".join(check.needs)
            missing = (*missing, f"{reading.name} is {reading.state}; this check needs it {wanted}")
            reading = None
        if reading is None:
            return self._verdict(check, subject, time, "unmeasured", None, missing, reads)
        limits = []
        for one in plan.limits:
            limit, lacking, read = self._limit(one, subject, time, reading.unit)
            missing += lacking
            reads += read
            if limit is not None:
                limits.append(limit)
        if not limits:
            return self._verdict(check, subject, time, "unmeasured", reading, missing, reads)
        limit = limits[0]
        at_most = check.must_be in ("at most", "below")
        if len(limits) > 1:
            lowest = at_most == (check.choose != "loosest_limit")
            limit = (min if lowest else max)(limits, key=_VALUE)
        band = self._prepared.band_factor * hypot(reading.plus_minus, limit.plus_minus)
        word = compare(reading.value, limit.value, check.must_be, band, reading.unit, check.doubt)
        if word == "pass" and reading.state == "doubtful":
            # A number from beyond a table or a formula's range never passes a check by itself.
            word = "fail" if check.doubt == "against" else "close"
        margin = limit.value - reading.value if at_most else reading.value - limit.value
        return self._verdict(
            check,
            subject,
            time,
            word,
            reading,
            missing,
            reads + _BAND,
            limit,
            tuple(limits),
            band,
            margin,
            probability(margin, band),
        )

    def _verdict(
        self,
        check: Check,
        subject: Subject,
        time: str,
        word: str,
        reading: Number | None,
        missing: tuple[str, ...],
        reads: tuple[Read, ...],
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
            tuple(dict.fromkeys(missing)) if len(missing) > 1 else missing,
            reads,
        )
        if self._seen is not None:
            self._seen.verdicts.append(verdict)
            self._seen.asked.append(reads)
        return verdict

    def _tell(self, reads: tuple[Read, ...]) -> None:
        if reads and self._seen is not None:
            self._seen.asked.append(reads)

    def _make(self, plan: Plan, subject: Subject, time: str) -> Made:
        """What a plan leads to; a field or figure of one owner is made once, and counts for all that read it."""
        if plan.known is not None:
            return plan.known
        if plan.table is not None:
            return self._table(plan, plan.table, subject, time)
        owner = subject if plan.own else self._house
        asked = (plan.name, owner.key, time)
        made = self._known.get(asked)
        if made is None:
            figure = plan.figure
            made = self._reading(plan.name, owner, time) if figure is None else self._figure(figure, plan, owner, time)
            self._known[asked] = made
            self._tell(made[2])
        return made

    def _reading(self, name: str, subject: Subject, time: str) -> Made:
        reading = self._source(subject.key, name, time)
        if reading is None:
            return None, (name if subject.key == HOUSE_KEY else f"{name} of {subject.key}",), ()
        field = KINDS[subject.kind].fields[name]
        plus_minus, doubt_from, reads = reading.plus_minus, "", tuple[Read, ...]()
        if plus_minus is None:
            plus_minus, doubt_from, reads = self._usual_doubt(name, reading, field.unit)
        if (subject.key, name) in self._doubts and time == "found":
            wider = abs(reading.value) * self._doubts[subject.key, name] / 100.0
            plus_minus, doubt_from = (wider, "rule") if wider > plus_minus else (plus_minus, doubt_from)
        state = "record" if field.form == "number" else reading.state
        number = Number(
            "reading",
            name,
            reading.value,
            field.unit,
            plus_minus,
            state,
            subject.key,
            "",
            (),
            reading,
            None,
            doubt_from,
        )
        return number, (), reads

    def _usual_doubt(self, name: str, reading: Reading, unit: str) -> tuple[float, str, tuple[Read, ...]]:
        """± that policy gives a reading whose record gives none, the table it comes from, and what was read."""
        usual = self._prepared.usual.get(name)
        if usual is None:
            return 0.0, "", ()
        value, table, read = usual
        share = table.unit == "%"
        return abs(reading.value) * value / 100.0 if share else _difference(value, table.unit, unit), table.name, read

    def _figure(self, figure: Figure, plan: Plan, subject: Subject, time: str) -> Made:
        missing, reads = tuple[str, ...](), tuple[Read, ...]()
        found = []
        if figure.step == "sum_over":
            made = [self._make(plan.parts[0], other, time) for other in self._subjects.get(figure.over, ())]
            if not made:
                missing = (f"no {figure.over} in the record",)
        else:
            made = [self._make(part, subject, time) for part in plan.parts]
        for one, lacking, read in made:
            found.append(one)
            missing += lacking
            reads += read
        if figure.step in ("largest_known_of", "first_known_of"):
            found = [part for part in found if part is not None]
            found = found[:1] if figure.step == "first_known_of" else found
        parts = tuple([part for part in found if part is not None])
        if not parts or len(parts) < len(found):
            return None, missing, reads
        step = take_step(figure.step, [_value_and_doubt(part) for part in parts])
        if step is None:
            return None, (*missing, f"{figure.name} divides by zero"), reads
        factor = UNITS[figure.unit].factor
        whole = Number(
            "figure",
            figure.name,
            step[0] / factor,
            figure.unit,
            step[1] / factor,
            worst(parts),
            subject.key,
            figure.step,
            parts,
        )
        return whole, missing, reads

    def _table(self, plan: Plan, table: Table, subject: Subject, time: str) -> Made:
        missing, reads = tuple[str, ...](), tuple[Read, ...]()
        if plan.by is None:
            key: float | str = (subject if plan.own else self._house).word(table.by)
        else:
            number, missing, reads = self._make(plan.by, subject, time)
            if number is None:
                return None, missing, reads
            key = convert(number.value, number.unit, table.by_unit)
        row, read = table_read(self._prepared.policy, table.name, key)
        reads = (*reads, read)
        self._tell(reads)
        if row is None:
            return None, (*missing, f"table {table.name} has no row for {key}"), reads
        return Number("table", table.name, row[0], table.unit, row=row[1]), missing, reads

    def _limit(self, plan: LimitPlan, subject: Subject, time: str, unit: str) -> Made:
        if plan.plain:
            fixed = plan.fixed.get(unit)
            if fixed is not None:
                return fixed
        base, missing, reads = self._make(plan.of, subject, time)
        if base is None:
            return None, missing, reads
        if plan.plain and base.unit == unit:
            made: Made = base, missing, reads
        else:
            made = self._changed_limit(base, missing, reads, plan, subject, time, unit)
        if plan.plain and plan.of.known is not None:
            plan.fixed[unit] = made
        return made

    def _changed_limit(
        self,
        base: Number,
        missing: tuple[str, ...],
        reads: tuple[Read, ...],
        plan: LimitPlan,
        subject: Subject,
        time: str,
        unit: str,
    ) -> Made:
        value, parts, doubt = convert(base.value, base.unit, unit), [base], _scale(base, unit)
        if plan.plain:
            return base._replace(value=value, unit=unit, plus_minus=doubt), missing, reads
        for other, sign in ((plan.less, -1.0), (plan.more, 1.0)):
            if other is None:
                continue
            change, lacking, read = self._make(other, subject, time)
            missing += lacking
            reads += read
            if change is None:
                return None, missing, reads
            parts.append(change)
            if change.unit == "%":
                value *= 1.0 + sign * change.value / 100.0
                doubt *= 1.0 + sign * change.value / 100.0
            else:
                value += sign * convert(change.value, change.unit, unit)
        if plan.times is not None:
            share, lacking, read = self._make(plan.times, subject, time)
            missing += lacking
            reads += read
            if share is None:
                return None, missing, reads
            parts.append(share)
            value, doubt = value * to_si(share.value, share.unit), doubt * to_si(share.value, share.unit)
        return Number("limit", base.name, value, unit, doubt, parts=tuple(parts), step="limit"), missing, reads


def _difference(value: float, from_unit: str, to_unit: str) -> float:
    """Convert a width, which has no zero point of its own: 1 F diff is 1 F wide."""
    return value * UNITS[from_unit].factor / UNITS[to_unit].factor


def _value_and_doubt(part: Number) -> tuple[float, float]:
    """Value and ± of a number, SI."""
    return to_si(part.value, part.unit), part.plus_minus * UNITS[part.unit].factor


def _scale(base: Number, unit: str) -> float:
    return base.plus_minus * UNITS[base.unit].factor / UNITS[unit].factor
