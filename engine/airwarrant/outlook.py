"""One job seen ahead: every scope asked for, predicted on the house's air network and judged by the policy's acceptance checks."""

from collections.abc import Callable, Collection, Mapping, Sequence

from airwarrant.house.predict import REGISTERS, Difference, HouseAir, Prediction, difference
from airwarrant.house.work import Work
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.record import JobRecord
from airwarrant.policy.model import Policy
from airwarrant.rules.verdict import Verdict
from airwarrant.run import Alternative, Change, Effect, Moved, Option, Ranges, Step
from airwarrant.scope.order import line_order
from airwarrant.scope.settle import Line, Settled
from airwarrant.sizing.sized import Sized
from airwarrant.units import UNITS, number

Verdicts = dict[tuple[str, str, str], Verdict]
#: What changes nothing in the air path by itself: the fan setting is what a prediction is asked at.
_NO_AIR = ("", "fan-setting")
#: House readings whose change a line tells.
_TOLD = (
    "register_flow",
    "airflow",
    "external_static",
    "power",
    "leakage_25",
    "delivered_sensible",
    "season_energy",
    "season_cost",
)


def _size_of(sized: Sized | None) -> tuple[float | None, float | None]:
    """The first size of a line, and its size that is an area."""
    if sized is None:
        return None, None
    areas = (one.value * one.count for one in sized.sizes if one.value is not None and one.size.unit == "in2")
    return sized.value, next(areas, None)


class Outlook:
    """Predictions of one job, each made once.

    Parameters
    ----------
    order : mapping of task to int
        Its rank in the order of work.
    air : HouseAir or None
        None where the house cannot be predicted: then there are no options.
    judge : callable
        Judges checks, all or some, on a prediction.
    sizes : callable
        Sizes of the lines of a scope.
    """

    def __init__(
        self,
        record: JobRecord,
        policy: Policy,
        order: Mapping[str, int],
        air: HouseAir | None,
        judge: Callable[[Prediction, Collection[str] | None], Verdicts],
        sizes: Callable[[Settled], Mapping[str, Sized]],
    ) -> None:
        self._record = record
        self._policy = policy
        self._order = order
        self._judge = judge
        self._acceptance = frozenset(
            name for name, check in policy.checks.items() if check.acceptance and check.each == HOUSE_KEY
        )
        self._sizes = sizes
        self.air = air
        self._predicted: dict[tuple[frozenset[Work], str], Prediction | None] = {}
        self._completed: dict[tuple[frozenset[Work], str], Prediction] = {}

    def work(self, settled: Settled, lines: Collection[str]) -> list[Work]:
        """The lines as the predictor sees them."""
        sizes = self._sizes(settled)
        return [
            Work(change, line.place, *_size_of(sizes.get(line.id)))
            for line in settled.lines.values()
            if line.id in lines and (change := self._policy.tasks[line.task].changes) not in _NO_AIR
        ]

    def predict(self, work: Collection[Work], setting: str) -> Prediction | None:
        """Predict some work at a setting; the same work, whatever lines it comes from, once."""
        if self.air is None:
            return None
        asked = (frozenset(work), setting)
        if asked not in self._predicted:
            self._predicted[asked] = self.air.predict(work, setting)
        return self._predicted[asked]

    def options(self, work: Collection[Work], *, ranges: bool = False) -> tuple[Option, ...]:
        """Every fan setting of the new blower with some work."""
        blower = self._record.new_blower
        found = (self.option(work, setting.name, ranges=ranges) for setting in (blower.settings if blower else ()))
        return tuple(option for option in found if option is not None)

    def option(self, work: Collection[Work], setting: str, *, ranges: bool = False) -> Option | None:
        """Some work at one fan setting, judged."""
        prediction = self.predict(work, setting)
        if prediction is None or self.air is None:
            return None
        verdicts = self._judge(prediction, self._acceptance)
        drawn: Ranges = {}
        if ranges:
            prediction = self._complete(work, setting) or prediction
            drawn = self.air.ranges(work, setting)
        return Option(
            setting,
            prediction,
            verdicts,
            tuple(v.id for v in verdicts.values() if v.word == "fail"),
            tuple(v.id for v in verdicts.values() if v.word == "close"),
            drawn,
        )

    def effects(self, settled: Settled, setting: str) -> dict[str, Effect]:
        """What each line changes by itself, and what the scope loses without it."""
        active = [line.id for line in settled.active()]
        whole = self.work(settled, active)
        effects = {}
        for line in settled.active():
            alone = self.work(settled, [line.id])
            rest = self.work(settled, [i for i in active if i != line.id])
            if alone:
                effects[line.id] = Effect(
                    self._change(alone, [], setting, ranges=True), self._change(rest, whole, setting, ranges=True)
                )
        return {line: effect for line, effect in effects.items() if _moves(effect.alone) or _moves(effect.without)}

    def gain(self, settled: Settled, line: Line, setting: str) -> tuple[Difference, Prediction, Prediction] | None:
        """Register flow of the scope less that of the scope without a line, with both predictions."""
        active = [one.id for one in settled.active()]
        whole = self.predict(self.work(settled, active), setting)
        rest = self.predict(self.work(settled, [i for i in active if i != line.id]), setting)
        return None if whole is None or rest is None else (difference(whole, rest, REGISTERS), whole, rest)

    def steps(self, settled: Settled, setting: str) -> tuple[Step, ...]:
        """The scope built up line by line in the order of work: each step has its prerequisites behind it."""
        found, so_far = [], []
        for line in self._in_order(settled.active()):
            if self._policy.tasks[line.task].changes not in _NO_AIR:
                so_far.append(line.id)
                prediction = self.predict(self.work(settled, so_far), setting)
                if prediction is not None:
                    found.append(Step(line.id, prediction))
        return tuple(found)

    def alternatives(self, settled: Settled, findings: Collection[str]) -> tuple[Alternative, ...]:
        """Scopes one line smaller, with what needs it taken out too, and one line larger, with what it needs taken in."""
        active = tuple(line.id for line in settled.active())
        found, seen = [], {frozenset(self.work(settled, active))}
        for kind, line, lines in (
            *(
                ("smaller", line.id, self._without(settled, line, findings))
                for line in self._in_order(settled.active())
            ),
            *(("larger", line.id, self._with(settled, line, findings)) for line in self._more(settled)),
        ):
            work = self.work(settled, lines)
            if frozenset(work) in seen or self._binding(settled, line, kind):
                continue
            seen.add(frozenset(work))
            option = best(self.options(work))
            if option is not None and not self._same(option, work, active, settled):
                found.append(Alternative(kind, line, lines, option))
        return tuple(found)

    def _same(self, option: Option, work: Collection[Work], active: Collection[str], settled: Settled) -> bool:
        """Whether nothing of the house moves at the printed decimals: two lines that seal one leak are not two choices."""
        return not _moves(self._change(work, self.work(settled, active), option.setting, ranges=False))

    def _complete(self, work: Collection[Work], setting: str) -> Prediction | None:
        """A prediction with what is only shown, worked out once."""
        prediction, asked = self.predict(work, setting), (frozenset(work), setting)
        if prediction is None or self.air is None:
            return None
        if asked not in self._completed:
            self._completed[asked] = self.air.complete(prediction)
        return self._completed[asked]

    def _binding(self, settled: Settled, line: str, kind: str) -> bool:
        """What safety or code asks for is not left out to see what happens."""
        return kind == "smaller" and settled.lines[line].won.authority in ("safety", "code")

    def _more(self, settled: Settled) -> list[Line]:
        """Lines that are not in the scope now and might be: held, left out, or dropped for too small a gain."""
        open_to = [
            line for line in settled.lines.values() if line.state in ("held", "left-out") or line.pruned is not None
        ]
        return [line for line in self._in_order(open_to) if self._policy.tasks[line.task].changes not in _NO_AIR]

    def _without(self, settled: Settled, out: Line, findings: Collection[str]) -> tuple[str, ...]:
        gone = {out.id}
        while True:
            left = [line for line in settled.active() if line.id not in gone]
            tasks = {line.task for line in left}
            lacking = {line.id for line in left if not self._needs_met(line, tasks, findings)}
            if not lacking:
                return tuple(line.id for line in left)
            gone |= lacking

    def _with(self, settled: Settled, more: Line, findings: Collection[str]) -> tuple[str, ...]:
        taken = [line.id for line in settled.active()] + [more.id]
        tasks = {settled.lines[i].task for i in taken}
        for need in self._policy.tasks[more.task].needs:
            if need.while_finding in findings and need.task not in tasks:
                taken += [line.id for line in settled.lines.values() if line.task == need.task]
        return tuple(taken)

    def _needs_met(self, line: Line, tasks: Collection[str], findings: Collection[str]) -> bool:
        needs = self._policy.tasks[line.task].needs
        return all(need.task in tasks for need in needs if need.while_finding in findings)

    def _in_order(self, lines: Sequence[Line]) -> list[Line]:
        return sorted(lines, key=lambda line: line_order(line, self._order))

    def _change(self, after: Collection[Work], before: Collection[Work], setting: str, *, ranges: bool) -> Change:
        one, other = self._complete(after, setting), self._complete(before, setting)
        if one is None or other is None or self.air is None:
            return {}
        keys = [(HOUSE_KEY, name) for name in _TOLD if (HOUSE_KEY, name) in one.readings]
        keys = [key for key in keys if key in other.readings]
        drawn = self.air.gain_ranges(after, before, setting, keys) if ranges else {}
        return {key[1]: _moved(one, other, key, drawn) for key in keys}


def _moves(change: Change) -> bool:
    """Whether anything moves at the decimals of its unit."""
    return any(number(one.value, one.unit) for one in change.values())


def _moved(after: Prediction, before: Prediction, key: tuple[str, str], drawn: Ranges) -> Moved:
    unit = after.readings[key].unit
    factor = UNITS[unit].factor
    gap = difference(after, before, key)
    span = drawn.get(key)
    low, high = (None, None) if span is None else (span.low / factor, span.high / factor)
    return Moved(gap.value / factor, 2.0 * gap.sd / factor, unit, low, high)


def best(options: Sequence[Option]) -> Option | None:
    """Lowest setting that passes; else the lowest that is only close; else the one with the fewest misses."""
    ranked = sorted(enumerate(options), key=lambda o: (len(o[1].misses), bool(o[1].close), o[0]))
    return ranked[0][1] if ranked else None
