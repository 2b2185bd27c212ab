"""Readings at, just within and just beyond the limit of a check: one number of a record is walked until the check says another word."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from itertools import pairwise
from types import MappingProxyType
from typing import Literal

from airwarrant.job.dictionary import HOUSE_KEY, KINDS, Field
from airwarrant.job.lookup import reading, subjects
from airwarrant.job.readings import STATES, Reading
from airwarrant.job.record import JobRecord
from airwarrant.job.subject import Subject
from airwarrant.policy.model import Check, Table
from airwarrant.policy.unfilled import jurisdiction_known
from airwarrant.rules.judge import Judge
from airwarrant.rules.numbers import Number
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.verdict import Verdict
from airwarrant.units import UNITS, at_decimals, convert

#: Numbers and words of a record that are otherwise, by (subject, field).
Otherwise = Mapping[tuple[str, str], float | str]
Where = Literal["within", "in doubt", "at", "beyond", "not measured"]
#: How often an interval is halved: from the widest range of a field to less than the last decimal of any unit.
_HALVINGS = 50
#: Most decimals that a number of a case is written with.
_DECIMALS = 6
#: How far is looked for a whole number on the right side of a limit.
_WHOLE_STEPS = 40
#: What a second number is multiplied by, so that another of a check's several limits governs.
_FACTORS = (0.5, 0.75, 1.5, 2.0)
_SOME = 1e-9
#: Readings that no record holds: the program works them out.
_NOT_WRITTEN = frozenset(
    field.name
    for kind in KINDS.values()
    for field in kind.fields.values()
    if field.section == "derived" and field.form == "reading"
)


@dataclass(frozen=True, slots=True)
class Near:
    """What a check says of a record near its limit.

    Attributes
    ----------
    where : {"within", "in doubt", "at", "beyond", "not measured"}
        `within` and `beyond` are one step clear of the limit, or of its guard band where that makes it close. `in doubt` is a step
        short of `within`, where what is too close to call counts as missed. `not measured` is `within` of another state, where the
        check says what it needs.
    otherwise : mapping of (subject, field) to number or word
        What is otherwise in the record, the walked number last.
    state : str
        How the walked number came about, where it is not measured.
    """

    where: Where
    otherwise: Otherwise
    verdict: Verdict
    state: str = ""


class Walk:
    """Walks the numbers of one record under one policy.

    Parameters
    ----------
    record : JobRecord
        It holds, once, whatever a check asks for.
    prepared : Prepared
    """

    def __init__(self, record: JobRecord, prepared: Prepared) -> None:
        self._record, self._prepared = record, prepared
        self._kinds = subjects(record, jurisdiction_known=jurisdiction_known(prepared.policy.market))

    def subject(self, check: Check) -> Subject | None:
        """The first thing of the record that the check judges."""
        held = self._kinds.get(check.each, ())
        return next((one for one in held if self.verdict(check, one, {}).limit is not None), None)

    def circumstances(self, check: Check, subject: Subject) -> Iterator[Otherwise]:
        """What may be otherwise beside the walked number: each row of a table of limits, numbers that make another limit govern."""
        tables = [self._prepared.policy.tables[limit.of.name] for limit in check.limits if limit.of.form == "table"]
        rows = [one for table in tables for one in self._rows(table, subject)]
        yield from rows or [{}]
        if len(check.limits) > 1:
            found = self.verdict(check, subject, {})
            numbers = (*_leaves(found.reading), *(leaf for limit in found.considered for leaf in _leaves(limit)))
            for leaf in {(leaf.subject, leaf.name): leaf for leaf in numbers}.values():
                for factor in _FACTORS:
                    yield {(leaf.subject, leaf.name): float(f"{leaf.value * factor:.3g}")}

    def around(self, check: Check, subject: Subject, otherwise: Otherwise) -> tuple[Near, ...]:
        """The record near the limit that governs; empty where no number by itself brings the check to a limit."""
        verdict = self.verdict(check, subject, otherwise)
        leaves = [leaf for leaf in _leaves(verdict.reading) if (leaf.subject, leaf.name) not in otherwise]
        # What was read on the day is walked before what stands on a nameplate.
        for leaf in sorted(leaves, key=lambda one: one.state == "record"):
            found = _Line(self, check, subject, otherwise, leaf).near()
            if found:
                return found
        return ()

    def verdict(self, check: Check, subject: Subject, otherwise: Otherwise, state: str = "measured") -> Verdict:
        """What a check says of the record with some things otherwise; the last of them is in a state."""
        last = next(reversed(list(otherwise)), None)
        kinds = self._kinds
        words = {(key, name): value for (key, name), value in otherwise.items() if isinstance(value, str)}
        if words:
            kinds = {kind: tuple(_reworded(one, words) for one in several) for kind, several in kinds.items()}
            subject = _reworded(subject, words)

        def source(key: str, name: str, time: str) -> Reading | None:
            value = otherwise.get((key, name))
            if value is None or isinstance(value, str):
                return reading(self._record, key, name, time)
            return _made(self.field(key, name), float(value), state if (key, name) == last else "measured")

        return Judge(self._prepared, kinds, source).judge(check, subject, "found")

    def field(self, key: str, name: str) -> Field:
        """The field of a thing of the record."""
        kind = HOUSE_KEY if key == HOUSE_KEY else self._record.items[key].kind
        return KINDS[kind].fields[name]

    def _rows(self, table: Table, subject: Subject) -> Iterator[Otherwise]:
        owner = subject if table.by in KINDS[subject.kind].fields else self._kinds[HOUSE_KEY][0]
        field = KINDS[owner.kind].fields.get(table.by)
        if field is None:
            yield {}  # by a figure: the row that the record comes to
            return
        keys = [key for key, _ in table.rows]
        for number, key in enumerate(keys):
            if isinstance(key, str):
                if key in field.words:
                    yield {(owner.key, field.name): key}
                continue
            step = 10.0 ** -UNITS[field.unit].decimals
            at = convert(key, table.by_unit, field.unit)
            sides = [0.0]
            # Between two rows: a step past a row that holds up to its key, a step short of one that holds from it.
            if table.between == "next-row" and number + 1 < len(keys):
                sides.append(step)
            if table.between == "last-row-at-or-below" and number:
                sides.append(-step)
            for side in sides:
                value = float(f"{at + side:.6f}")
                if field.hard is None or field.hard[0] <= value <= field.hard[1]:
                    yield {(owner.key, field.name): value}


class _Line:
    """One number walked, with all else as it is."""

    def __init__(self, walk: Walk, check: Check, subject: Subject, otherwise: Otherwise, leaf: Number) -> None:
        self._walk, self._check, self._subject, self._otherwise = walk, check, subject, otherwise
        self._key = (leaf.subject, leaf.name)
        self._field = walk.field(*self._key)
        self._start = leaf.value
        # Things that are counted, and years, come whole.
        self._whole = UNITS[self._field.unit].decimals == 0 or (self._field.unit == "1" and leaf.state == "record")
        self._known: dict[float, Verdict] = {}

    def near(self) -> tuple[Near, ...]:
        cross = self._crossing()
        if cross is None:
            return ()
        low, high = cross
        up = 1 if self._meets(high) else -1
        within = self._clear(high if up > 0 else low, up, lambda v: self._word(v) == "pass" and self._steps(v) > 0)
        beyond = self._clear(low if up > 0 else high, -up, lambda v: self._word(v) == "fail" and self._steps(v) < 0)
        found: list[tuple[Where, float | None]] = [("within", within)]
        if within is not None and self._check.doubt == "against" and self._ask(within).band:
            found.append(("in doubt", self._short_of(within, -up)))
        at = self._at((low + high) / 2)
        found += [("at", at), ("beyond", beyond)]
        taken: dict[float, Where] = {}
        for where, value in found:
            if value is not None and (value not in taken or where == "at"):
                taken[value] = where
        if within is None and beyond is None:
            return ()
        near = [Near(where, self._with(value), self._ask(value)) for value, where in taken.items()]
        if within is not None and self._check.needs and self._field.form == "reading" and not self._otherwise:
            near += [
                Near(
                    "not measured",
                    self._with(within),
                    self._walk.verdict(self._check, self._subject, self._with(within), state),
                    state,
                )
                for state in STATES
                if state != "measured"
            ]
        return tuple(near)

    def _with(self, value: float) -> Otherwise:
        return {**self._otherwise, self._key: value}

    def _ask(self, value: float) -> Verdict:
        found = self._known.get(value)
        if found is None:
            found = self._known[value] = self._walk.verdict(self._check, self._subject, self._with(value))
        return found

    def _word(self, value: float) -> str:
        return self._ask(value).word

    def _steps(self, value: float) -> float:
        """By how many steps of the unit's decimals the limit is met; below nothing: missed."""
        verdict = self._ask(value)
        if verdict.reading is None or verdict.limit is None:
            return float("nan")
        unit = verdict.reading.unit
        gap = at_decimals(verdict.limit.value, unit) - at_decimals(verdict.reading.value, unit)
        steps = float(gap.scaleb(UNITS[unit].decimals))
        return steps if self._check.must_be in ("at most", "below") else -steps

    def _meets(self, value: float) -> bool | None:
        margin = self._ask(value).margin
        return None if margin is None else margin >= 0 if self._check.must_be in ("at most", "at least") else margin > 0

    def _crossing(self) -> tuple[float, float] | None:
        """Two numbers next to each other with the limit between them, nearest to the record's own."""
        points = self._points()
        pairs = sorted(pairwise(points), key=lambda one: min(abs(p - self._start) for p in one))
        for low, high in pairs:
            a, b = self._meets(low), self._meets(high)
            if a is None or b is None or a == b:
                continue
            for _ in range(_HALVINGS):
                middle = (low + high) / 2
                low, high = (middle, high) if self._meets(middle) == a else (low, middle)
            # A limit that is leapt over, because it moves with the number, is not met by any.
            if abs(self._steps(low) - self._steps(high)) <= 1:
                return low, high
        return None

    def _points(self) -> list[float]:
        low, high = self._field.hard or (-1e6, 1e6)
        near = [self._start * 1.2**step for step in range(-20, 21)]
        even = [low + (high - low) * step / 40 for step in range(41)] if self._field.hard else []
        return sorted({one for one in (*near, *(-one for one in near), *even) if low <= one <= high})

    def _clear(self, start: float, towards: int, holds: Callable[[float], bool]) -> float | None:
        """The first number of few decimals past `start` at which something holds."""
        step = max(abs(start), 1e-3) * 1e-4
        last, value = start, start
        while not holds(value):
            last, value = value, start + towards * step
            step *= 2
            if not self._may_be(value):
                value = self._end(towards)
                if not holds(value):
                    return None
                break
        for _ in range(_HALVINGS):
            middle = (last + value) / 2
            last, value = (last, middle) if holds(middle) else (middle, value)
        return self._rounded(value, towards, lambda v: holds(v) and abs(self._steps(v) - self._steps(value)) < 1, holds)

    def _short_of(self, within: float, towards: int) -> float | None:
        """The last number of few decimals before `within`: still inside the limit, already in doubt."""

        def doubtful(value: float) -> bool:
            return self._word(value) == "fail" and self._steps(value) > 0

        aim = self._steps(within) - 1
        step = max(abs(within), 1e-3) * 1e-6
        value = within
        for _ in range(60):
            value += towards * step
            if doubtful(value):
                break
            step *= 1.5
        if not doubtful(value):
            return None
        return self._rounded(value, towards, lambda v: doubtful(v) and self._steps(v) <= aim, doubtful)

    def _at(self, value: float) -> float | None:
        return self._rounded(value, 0, lambda v: abs(self._steps(v)) < _SOME)

    def _rounded(
        self, value: float, towards: int, holds: Callable[[float], bool], whole: Callable[[float], bool] | None = None
    ) -> float | None:
        """The number of fewest decimals near a value for which something holds; of what comes whole, the next for which `whole` does."""
        if self._whole:
            first = _round(value, 0, towards)
            steps = (first + towards * step for step in range(_WHOLE_STEPS if towards else 1))
            return next((near for near in steps if self._may_be(near) and (whole or holds)(near)), None)
        for decimals in range(_DECIMALS + 1):
            near = _round(value, decimals, towards)
            if self._may_be(near) and holds(near):
                return near
        return None

    def _may_be(self, value: float) -> bool:
        return self._field.hard is None or self._field.hard[0] <= value <= self._field.hard[1]

    def _end(self, towards: int) -> float:
        low, high = self._field.hard or (-1e6, 1e6)
        return high if towards > 0 else low


def _round(value: float, decimals: int, towards: int) -> float:
    # Ten digits first: what halving leaves of a round number is that number.
    exact, grid = Decimal(f"{value:.10g}"), Decimal(1).scaleb(-decimals)
    if not towards:
        return float(exact.quantize(grid))
    return float(exact.quantize(grid, ROUND_CEILING if towards > 0 else ROUND_FLOOR))


def _leaves(number: Number | None) -> list[Number]:
    """Numbers of the record that a number was made from, by which it can be walked."""
    leaves = number.leaves() if number is not None else ()
    return [leaf for leaf in leaves if leaf.form == "reading" and leaf.name not in _NOT_WRITTEN]


def _reworded(subject: Subject, words: Mapping[tuple[str, str], str]) -> Subject:
    own = {name: value for (key, name), value in words.items() if key == subject.key}
    return replace(subject, words=MappingProxyType({**subject.words, **own})) if own else subject


def _made(field: Field, value: float, state: str) -> Reading:
    """A number as a case writes it, with the ± that policy gives such a reading."""
    state, plus_minus = (state, None) if field.form == "reading" else ("stated", 0.0)
    return Reading(value, field.unit, state, plus_minus, field.name, None, None, "", MappingProxyType({}))
