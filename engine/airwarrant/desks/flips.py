"""The smallest changes that bring a line in: values of the record, and values of the policy, each put in and the whole job evaluated again.

A change is looked for along the ways that the rules leave open, sized by judging one reading again and again, and believed only when the
whole job, changed, has the line in its scope.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product
from types import MappingProxyType

from airwarrant.desks.gaps import lacks
from airwarrant.desks.near_misses import facts_of
from airwarrant.desks.record_edits import Edit, field_of, number_edit, on_grid, with_edits, word_edit
from airwarrant.desks.ways import Asked, Reasoner, Way
from airwarrant.errors import AirFault, RecordError
from airwarrant.evaluate import Evaluator
from airwarrant.job.dictionary import KINDS
from airwarrant.job.lookup import reading, subjects
from airwarrant.job.reading_records import record_of
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.job.shape import written_range
from airwarrant.judged import NOTHING, Judged
from airwarrant.rules.numbers import Number
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.verdict import Verdict
from airwarrant.run import Run
from airwarrant.source.document import Document
from airwarrant.units import UNITS, convert

#: How many values a change may have at most.
MOST_EDITS = 2
#: Bounds of the search: evaluations of the whole job, and how often a step is doubled.
MOST_TRIED = 40
MOST_REPAIRED = 8
#: How fast steps grow where judging is cheap, and where the whole job is evaluated for each.
FINE, COARSE = 1.15, 2.0
#: (key, field, time)
_Var = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Flip:
    """A change of the record that brings the line in: at most two values."""

    edits: tuple[Edit, ...]

    @property
    def cost(self) -> tuple[int, int, float, tuple[str, ...]]:
        """Fewest values first, numbers before words, then the smallest shares."""
        return (
            len(self.edits),
            sum(edit.is_word or edit.before is None for edit in self.edits),
            round(sum(edit.share for edit in self.edits), 6),
            tuple(f"{edit.key}.{edit.field}={edit.after}" for edit in self.edits),
        )


class Job:
    """One evaluated job, to be changed: what a value would have to be for a check to say another word."""

    def __init__(self, document: Document, evaluator: Evaluator, run: Run) -> None:
        self.document, self.evaluator, self.run = document, evaluator, run
        self.record = run.record
        self.facts = facts_of(run)
        self.reasoner = Reasoner(run, self.facts)
        self.evaluations = 0
        option = next((one for one in run.options if one.setting == run.chosen), None)
        self.prediction = option.prediction if option else NOTHING
        self._air = run.calibration.readings if run.calibration else {}
        self._doubts = dict(_doubts(run.verdicts.values()))
        self._runs: dict[tuple[tuple[object, ...], ...], Run | None] = {}

    def judged(self, prepared: Prepared, record: JobRecord, *, words_changed: bool = True) -> Judged:
        """A judge of a changed record, on the air of the house as it is."""
        market = prepared.policy.market
        by_kind = (
            subjects(record, bool(market.jurisdiction and market.editions)) if words_changed else self.facts.subjects
        )
        return Judged(prepared, record, by_kind, self.run.targets, self._air)

    def verdict(self, judged: Judged, asked: Asked) -> Verdict:
        """One verdict on a changed record or policy."""
        _, check, time, key = asked
        return judged.one((check, time, key), self._doubts, self.prediction if time == "predicted" else NOTHING)

    def changed(self, edits: Iterable[Edit]) -> Run | None:
        """The whole job evaluated with some values otherwise; None where no sound record can hold them together."""
        edits = tuple(edits)
        key = tuple((edit.path, edit.after) for edit in edits)
        if key not in self._runs:
            self.evaluations += 1
            try:
                record = record_of(with_edits(self.document, edits))
                self._runs[key] = self.evaluator.run(replace(record, market=self.record.market))
            except (RecordError, AirFault):
                self._runs[key] = None
        return self._runs[key]


def stands(run: Run | None, line: str) -> bool:
    """Whether a line is in the scope of a run."""
    return run is not None and line in run.settled.lines and run.settled.lines[line].state == "scoped"


def physical(job: Job, task: str, place: str, most: int = 3) -> tuple[Flip, ...]:
    """Return the smallest changes of the record, one or two values each, that bring a line in; smallest first, each of other values."""
    line = f"{task}@{place}"
    solver = _Solver(job)
    ways = job.reasoner.line(task, place)
    failed: list[Flip] = []
    read = (flip for way in ways if not _ahead(way) for flip in solver.flips(way, MOST_EDITS))
    return (
        _sure(solver, read, line, most, failed)
        or _sure(solver, _repaired(job, task, place, failed), line, most, [])
        # A prediction is dear to ask: the whole job is evaluated for each value.
        or _sure(
            solver, (flip for way in ways if _ahead(way) for flip in solver.flips(way, MOST_EDITS)), line, most, []
        )
    )


def _repaired(job: Job, task: str, place: str, failed: Iterable[Flip]) -> Iterator[Flip]:
    """A change may do what it is for and undo something else: what is then left is asked of the job as changed."""
    for flip in [one for one in failed if len(one.edits) == 1][:MOST_REPAIRED]:
        run = job.changed(flip.edits)
        if run is not None:
            after = Job(with_edits(job.document, flip.edits), job.evaluator, run)
            solver = _Solver(after)
            for way in after.reasoner.line(task, place):
                if not _ahead(way):
                    yield from (Flip((*flip.edits, *one.edits)) for one in solver.flips(way, 1) if one.edits)


def _ahead(way: Way) -> bool:
    return any(asked[0] == "verdict" and asked[2] == "predicted" for asked in way)


def _sure(solver: "_Solver", flips: Iterable[Flip], line: str, most: int, failed: list[Flip]) -> tuple[Flip, ...]:
    """Those of some changes that do bring the line in, the smallest first; notes in `failed` those tried in vain."""
    once = {tuple(sorted((edit.key, edit.field, str(edit.after)) for edit in flip.edits)): flip for flip in flips}
    kept: list[Flip] = []
    for tried, flip in enumerate(sorted(once.values(), key=lambda one: one.cost)):
        if len(kept) == most or tried == MOST_TRIED:
            break
        touched = {(edit.key, edit.field) for edit in flip.edits}
        if len(touched) < len(flip.edits) or any({(e.key, e.field) for e in one.edits} <= touched for one in kept):
            continue
        sure = solver.sure(flip, line)
        if sure is None:
            failed.append(flip)
        else:
            kept.append(sure)
    return tuple(sorted(kept, key=lambda one: one.cost))


class _Solver:
    """Finds the value at which a check says another word, for the numbers a verdict rests on."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._prepared = Prepared(job.run.policy)
        self._solved: dict[tuple[object, ...], tuple[Edit, ...]] = {}

    def flips(self, way: Way, most: int) -> Iterator[Flip]:
        """Changes of at most so many values that meet every demand of a way, as far as judging alone can tell."""
        words = [asked for asked in way if asked[0] == "word"]
        verdicts = [asked for asked in way if asked[0] == "verdict"]
        if len(words) > most:
            return
        for chosen in product(*(sorted(way[asked]) for asked in words)):
            edits = [self._word(asked, word) for asked, word in zip(words, chosen, strict=True)]
            if any(edit is None for edit in edits):
                continue
            fixed = tuple(edit for edit in edits if edit is not None)
            for assigned in self._assignments(verdicts, most - len(fixed)):
                several = [self._numbers(var, {asked: way[asked] for asked in held}) for var, held in assigned.items()]
                for numbers in product(*several):
                    yield Flip((*fixed, *numbers))

    def sure(self, flip: Flip, line: str) -> Flip | None:
        """The change, a little larger where it must be, if the whole job evaluated with it has the line; else None."""
        if stands(self._job.changed(flip.edits), line):
            return flip
        for times in (2, 4):
            further = tuple(self._further(edit, times) for edit in flip.edits)
            if further != flip.edits and stands(self._job.changed(further), line):
                return Flip(further)
        return None

    def _further(self, edit: Edit, times: int) -> Edit:
        if isinstance(edit.after, str) or not isinstance(edit.before, float):
            return edit
        low, high = written_range(field_of(self._job.record, edit.key, edit.field), self._job.record.units)
        steps = round((edit.after - edit.before) * 10.0 ** UNITS[edit.unit].decimals)
        return replace(edit, after=min(max(on_grid(edit, steps * times), low), high))

    def _word(self, asked: Asked, word: str) -> Edit | None:
        _, key, name = asked
        now = self._job.run.subjects[key].word(name)
        return word_edit(self._job.document, self._job.record, key, name, now, word)

    def _assignments(self, verdicts: list[Asked], most: int) -> Iterator[Mapping[_Var, tuple[Asked, ...]]]:
        """Every way to give each verdict one number that is to move it, with at most so many numbers in all."""
        if not verdicts:
            yield {}
            return
        seen = set()
        for chosen in product(*(self._variables(asked) for asked in verdicts)):
            if len(set(chosen)) <= most and chosen not in seen:
                seen.add(chosen)
                held: dict[_Var, tuple[Asked, ...]] = {}
                for var, asked in zip(chosen, verdicts, strict=True):
                    held[var] = (*held.get(var, ()), asked)
                yield held

    def _variables(self, asked: Asked) -> tuple[_Var, ...]:
        """Numbers of the record that a verdict rests on; of a predicted one also those that were found of the same."""
        _, check, time, key = asked
        found: dict[_Var, None] = {}
        for at in dict.fromkeys((time, "found")):
            verdict = self._job.run.verdicts.get((check, at, key))
            if verdict is None:
                continue
            found.update(dict.fromkeys((one.subject, one.name, at) for one in leaves(verdict) if one.form == "reading"))
            if verdict.word == "unmeasured":
                found.update(dict.fromkeys((owner, name, at) for name, owner, _ in lacks(verdict)))
        return tuple(var for var in found if self._edit(var) is not None)

    def _edit(self, var: _Var) -> Edit | None:
        key, name, time = var
        job = self._job
        if key not in job.record.items or name not in _fields(job.record, key):
            return None
        return number_edit(job.document, job.record, key, name, time, reading(job.record, key, name, time))

    def _numbers(self, var: _Var, demands: Mapping[Asked, frozenset[str]]) -> tuple[Edit, ...]:
        known = (var, *sorted((asked, tuple(sorted(words))) for asked, words in demands.items()))
        if known not in self._solved:
            edit = self._edit(var)
            self._solved[known] = () if edit is None else tuple(self._nearest(edit, var, demands))
        return self._solved[known]

    def _nearest(self, edit: Edit, var: _Var, demands: Mapping[Asked, frozenset[str]]) -> Iterator[Edit]:
        """The nearest value either way at which every demand is met."""
        low, high = written_range(field_of(self._job.record, edit.key, edit.field), self._job.record.units)

        def meets(value: float) -> bool:
            if not low <= value <= high:
                return False
            job = self._job
            if any(asked[2] == "predicted" for asked in demands):
                run = job.changed((replace(edit, after=value),))
                said = {asked: run.verdicts.get((asked[1], asked[2], asked[3])) if run else None for asked in demands}
            else:
                judged = job.judged(self._prepared, self._with(var, edit, value), words_changed=False)
                said = {asked: job.verdict(judged, asked) for asked in demands}
            return all(verdict is not None and verdict.word in demands[asked] for asked, verdict in said.items())

        if edit.before is None:
            yield from _edge(edit, low, high, meets)
            return
        growth = COARSE if any(asked[2] == "predicted" for asked in demands) else FINE
        for sign in (-1, 1):
            steps = nearest_step(meets, (low, high), edit, sign, growth)
            if steps is not None:
                yield replace(edit, after=on_grid(edit, sign * steps))

    def _with(self, var: _Var, edit: Edit, value: float) -> JobRecord:
        """The record with one number otherwise, without reading it again."""
        key, name, time = var
        record = self._job.record
        field = field_of(record, key, name)
        moved = convert(value, edit.unit, field.unit)
        now = reading(record, key, name, time)
        one = (
            Reading(moved, field.unit, "measured", None, "", None, None, "", MappingProxyType({}))
            if now is None
            else now._replace(value=moved)
        )
        if field.timed:
            if time == "found":
                return replace(record, old={**record.old, name: one})
            return replace(record, new={**record.new, name: one})
        item = record.items[key]
        if field.form == "number":
            return replace(record, items={**record.items, key: replace(item, numbers={**item.numbers, name: one})})
        index = edit.path[1]
        visits = tuple(
            replace(visit, readings={**visit.readings, (key, name): one}) if visit.index == index else visit
            for visit in record.visits
        )
        return replace(record, visits=visits)


def nearest_step(
    meets: Callable[[float], bool], bounds: tuple[float, float], edit: Edit, sign: int, growth: float = FINE
) -> int | None:
    """The fewest steps of the unit's last decimal, up or down, at which a number meets a test; None where none within bounds does."""
    room = (bounds[1] - on_grid(edit, 0)) if sign > 0 else (on_grid(edit, 0) - bounds[0])
    most = int(room * 10.0 ** UNITS[edit.unit].decimals + 1e-6)
    return fewest_steps(lambda steps: meets(on_grid(edit, sign * steps)), most, growth)


def fewest_steps(meets: Callable[[int], bool], most: int, growth: float = FINE) -> int | None:
    """The fewest steps at which a test is met: steps grow until it is, then halved between.

    Two numbers that must agree leave a window that too wide a step would pass over.
    """
    last, step = 0, min(1, most)
    while step > last and not meets(step):
        last, step = step, min(max(step + 1, int(step * growth)), most)
    if step == last:
        return None
    while step - last > 1:
        middle = (step + last) // 2
        last, step = (last, middle) if meets(middle) else (middle, step)
    return step


def _edge(edit: Edit, low: float, high: float, meets: Callable[[float], bool]) -> Iterator[Edit]:
    """Where the record has no number: the nearest to the end of its range that does not do; at either end, or between them."""
    for start, other, sign in ((low, high, 1), (high, low, -1)):
        probe = replace(edit, before=start, after=start)
        if meets(start):
            if meets(other):
                yield replace(edit, after=start)
                return
            continue
        steps = nearest_step(meets, (low, high), probe, sign)
        if steps is not None:
            yield replace(edit, after=on_grid(probe, sign * steps))


def leaves(verdict: Verdict) -> Iterator[Number]:
    """Every number that a verdict was made from, down to readings and policy values."""
    for number in (verdict.reading, *verdict.considered):
        if number is not None:
            yield from number.leaves()


def _fields(record: JobRecord, key: str) -> Mapping[str, object]:
    return KINDS[record.items[key].kind].fields


def _doubts(verdicts: Iterable[Verdict]) -> Iterator[tuple[tuple[str, str], float]]:
    """Readings whose ± a rule widened, as a percentage of the reading."""
    for verdict in verdicts:
        for leaf in leaves(verdict):
            if leaf.doubt_from == "rule" and leaf.value:
                yield (leaf.subject, leaf.name), 100.0 * leaf.plus_minus / abs(leaf.value)
