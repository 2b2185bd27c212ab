"""Every difference of two policies as an impact: which jobs, by the facts of their evaluation under the first, it can touch.

An evaluation is a function of the record, the policy values it asks for and the words its checks give. As long as every value asked
for is the same, every word is the same and no other rule fires, the next step of it is the same too; so it is enough to show, for each
change, that none of the steps taken would have come out otherwise.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields

import numpy as np

from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.policy.digest import ORIGIN
from airwarrant.policy.history import blocks_of
from airwarrant.policy.model import CarriedClause, Check, Figure, Named, Parameter, Policy, Rule, Table, Task
from airwarrant.policy.price_model import PREFIX, Charge, Crew, Factor, Item, Price
from airwarrant.policy.readers import readers_of
from airwarrant.policy.show_values import value_text
from airwarrant.policy.steering import ASSUMED, PLUS_MINUS, STEERING
from airwarrant.replay.could_fire import could_fire, needs_text
from airwarrant.replay.facts import Facts
from airwarrant.replay.impact import Impact, Touched, beyond, bits, judged
from airwarrant.replay.layout import Key, Layout
from airwarrant.replay.limits_moved import Shift, Value, checks_reading, only_limits, shifts, tasks_sized
from airwarrant.scope.order import task_order

#: What no line, size, hold or price comes from.
_SAID = frozenset({"title", "edit", "basis", "safer", "stage", "retest_when", "beside", "review_by"})
_EVERYONE = "every job is looked at"


def impacts(a: Policy, b: Policy, layout: Layout) -> tuple[Impact, ...]:
    """Return an impact for every block in which `b` differs from `a` in meaning; `layout` is that of `a`."""
    return tuple(_Impacts(a, b, layout).all())


@dataclass(frozen=True, slots=True)
class _Changed:
    section: str
    a: Named | None
    b: Named | None
    what: frozenset[str]

    @property
    def block(self) -> Named:
        block = self.b or self.a
        assert block is not None
        return block

    @property
    def title(self) -> str:
        return str(getattr(self.block, "title", "") or self.block.name)


class _Impacts:
    def __init__(self, a: Policy, b: Policy, layout: Layout) -> None:
        self._a, self._b, self._layout = a, b, layout
        self._changes = tuple(_changes(a, b))
        # Two values that move one limit together are not followed apart.
        moved: dict[str, int] = {}
        for one in self._changes:
            for check in checks_reading(a, _value(one)) if one.section in ("parameter", "table") else ():
                moved[check] = moved.get(check, 0) + 1
        self._together = frozenset(check for check, count in moved.items() if count > 1)

    def all(self) -> Iterator[Impact]:
        yield from self._whole()
        for one in self._changes:
            yield self._impact(one)

    def _whole(self) -> Iterator[Impact]:
        """What is no block: the market's own facts, the order of work, tasks that rules ask whether they were carried."""
        for name in ("jurisdiction", "editions", "currency"):
            if getattr(self._a.market, name) != getattr(self._b.market, name):
                yield Impact("market", name, f"the market's {name}", "everyone", f"every record reads it: {_EVERYONE}")
        both = [name for name in self._a.tasks if name in self._b.tasks]
        first, second = (sorted(both, key=task_order(policy.tasks).__getitem__) for policy in (self._a, self._b))
        if first != second:
            yield Impact(
                "task", "after", "the order of work", "everyone", f"who pays the access may change: {_EVERYONE}"
            )
        if _carried(self._a) != _carried(self._b):
            cannot = f"what a round carries over may end it otherwise: {_EVERYONE}"
            yield Impact("rule", "carried", "what rules ask of the round before", "everyone", cannot)
        if (self._a.prices is None or not self._a.prices.prices) != (
            self._b.prices is None or not self._b.prices.prices
        ):
            yield Impact("price", "", "the price book", "everyone", f"one side has no prices: {_EVERYONE}")
        if self._a.said != self._b.said:
            yield Impact("said", "", "texts", "nobody", "at all: words only")

    def _impact(self, one: _Changed) -> Impact:
        if not one.what - _SAID and one.a is not None and one.b is not None:
            return Impact(one.section, one.block.name, one.title, "nobody", "at all: words, sources or rights only")
        match one.block:
            case Parameter():
                return self._parameter(one)
            case Table():
                return self._table(one)
            case Check():
                return self._check(one)
            case Rule():
                return self._rule(one)
            case Task():
                return self._some(one, "in which no rule asked for it", [("line", one.block.name)])
            case Figure():
                both = (self._a, self._b)
                keys = any(table.by_unit and table.by == one.block.name for p in both for table in p.tables.values())
                read = keys or any(_read_by(policy, "figure", one.block.name) for policy in both)
                return self._every(one, "figures are not followed") if read else self._nobody(one)
            case _:
                return self._price(one)

    # ------------------------------------------------------------------------------------------------ values

    def _parameter(self, one: _Changed) -> Impact:
        name = one.block.name
        if name in STEERING or name.startswith((*ASSUMED, PREFIX)):
            what = "every price" if name.startswith(PREFIX) else "every evaluation"
            return self._every(one, f"{what} is made with it")
        if one.a is None:
            return self._added(one)
        a, b = one.a, one.b
        assert isinstance(a, Parameter)
        if isinstance(a.value, str):
            return self._every(one, "words are not followed")
        read = [("read", name, "value")]
        doubted = [
            ("rule", rule.name) for rule in self._a.rules.values() if any(_doubts(then, name) for then in rule.then)
        ]
        if not isinstance(b, Parameter) or isinstance(b.value, str) or a.unit != b.unit or doubted:
            return self._some(one, "that never asked for it", [*read, *doubted])
        found = self._shifts(("parameter", name), float(a.value), float(b.value), a.unit)
        if found is None:
            return self._some(one, "that never asked for it", read)
        if not found and not tasks_sized(self._a, _value(one)):
            why = "at all: no limit of a check and no size of a task reads it"
            return Impact(one.section, name, one.title, "nobody", why)
        texts = value_text(a.value, a.unit), value_text(b.value, b.unit)
        return self._limit(one, found, read, f"from {texts[0]} to {texts[1]}")

    def _table(self, one: _Changed) -> Impact:
        name = one.block.name
        if name.startswith(PLUS_MINUS):
            return self._every(one, "every reading without a ± of its own takes it, and the air network with it")
        if one.a is None:
            return self._added(one)
        a, b = one.a, one.b
        assert isinstance(a, Table)
        asked = list(self._layout.table(name))
        shape = {"rows", *_SAID}
        if not isinstance(b, Table) or one.what - shape or [key for key, _ in a.rows] != [key for key, _ in b.rows]:
            return self._some(one, "that never asked it", asked)
        rows = [at for at, (old, new) in enumerate(zip(a.rows, b.rows, strict=True)) if old != new]
        tests, judging = [], ""
        for at in rows:
            read = [("read", name, f"rows[{at}]")]
            found = self._shifts(("table", name), a.rows[at][1], b.rows[at][1], a.unit)
            if found is None:
                tests.append(self._any(read))
                continue
            tests.append(self._moves(found, read, ("table", name)))
            moved = " becomes ".join(value_text(table.rows[at][1], a.unit) for table in (a, b))
            keeps = self._keeps(found, moved, ("table", name))
            judging = keeps and f", or in which {keeps}"
        asked_for = "that row" if len(rows) == 1 else "any of the rows that changed"
        more = judging if len(rows) == 1 else judging and ", or in which every value judged by it keeps its word"
        return Impact("table", name, one.title, "some", f"that never asked for {asked_for}{more}", _either(tests))

    def _added(self, one: _Changed) -> Impact:
        """A value that only the second policy has is read by what changed with it, and by nothing else."""
        return Impact(one.section, one.block.name, one.title, "nobody", "by itself: only what is new reads it")

    def _shifts(self, value: Value, before: float, after: float, unit: str) -> list[Shift] | None:
        """How all limits that read a value move; None where something else reads it, or a limit is not followed."""
        if not only_limits(self._a, value):
            return None
        found = list(shifts(self._a, value, before, after, unit))
        followed = all(shift.proved and shift.check not in self._together for shift in found)
        return found if followed else None

    def _limit(self, one: _Changed, found: Sequence[Shift], read: Sequence[Key], moved: str) -> Impact:
        sentence = f"in which {self._keeps(found, f'the limit goes {moved}', _value(one))}"
        return Impact(one.section, one.block.name, one.title, "some", sentence, self._moves(found, read, _value(one)))

    def _keeps(self, found: Sequence[Shift], moved: str, value: Value) -> str:
        """What has to stay in a job that a value does not change: words of checks, and no line that the value sizes."""
        judging = " and ".join(f"“{self._a.checks[shift.check].title}”" for shift in found)
        tasks = ", ".join(tasks_sized(self._a, value))
        words = f"every value judged by {judging} keeps its word when {moved}" if found else ""
        lines = f"no line stands that it sizes ({tasks})" if tasks else ""
        return ", and in which ".join(part for part in (words, lines) if part)

    def _moves(self, found: Sequence[Shift], read: Sequence[Key], value: Value) -> Callable[[Facts], Touched]:
        layout = self._layout
        sized: list[Key] = [("line", task) for task in tasks_sized(self._a, value)]

        def test(facts: Facts) -> Touched:
            out = bits(facts, layout, sized)
            for shift in found:
                out |= beyond(facts, layout, shift.check, difference=shift.difference, ratio=shift.ratio)
            return out & bits(facts, layout, read)

        return test

    # ------------------------------------------------------------------------------------------------ checks, rules

    def _check(self, one: _Changed) -> Impact:
        name = one.block.name
        if any(isinstance(check, Check) and check.acceptance and check.each == HOUSE_KEY for check in (one.a, one.b)):
            return self._every(one, "every prediction is judged by it")
        if one.what & {"each", "reading"}:
            return self._every(one, "it is judged of something else")
        if one.a is None:
            if isinstance(one.b, Check) and one.b.acceptance:
                return self._every(one, "every test-out is held to it")
            # Whether a line is dropped for gaining too little rests on every check that fails without it, read by a rule or not.
            gaining = [("line", n) for p in (self._a, self._b) for n, task in p.tasks.items() if task.must_gain]
            return self._some(
                one, "in which no line stands that must gain: nothing else reads a check that is new", gaining
            )
        layout = self._layout
        return Impact(
            "check", name, one.title, "some", "in which it judged nothing", lambda facts: judged(facts, layout, name)
        )

    def _rule(self, one: _Changed) -> Impact:
        layout, a, b = self._layout, one.a, one.b
        fired = self._any([("rule", one.block.name)])
        same = isinstance(a, Rule) and (b is None or not one.what - {"then", "authority", *_SAID})
        # Rules that widen a reading's ± fire before all others, on words that no other rule has seen.
        if same and not (isinstance(b, Rule) and any(then.what == "doubt" for then in b.then)):
            return Impact("rule", one.block.name, one.title, "some", "in which it did not fire", fired)
        assert isinstance(b, Rule)
        new = could_fire(b, self._a, self._b, layout)
        sentence = f"in which it did not fire before and cannot now{needs_text(b)}"
        return Impact("rule", b.name, one.title, "some", sentence, _either([fired, new]) if a is not None else new)

    # ------------------------------------------------------------------------------------------------ prices

    def _price(self, one: _Changed) -> Impact:
        block = one.block
        unknown: Key = ("unpriced",)
        match block:
            case Price():
                return self._some(one, "whose scope has no line of the task", [("scoped", block.name)])
            case Item():
                return self._some(one, "that bought none of it", [("item", block.name), unknown])
            case Crew() if one.what <= {"wage", *_SAID}:
                return self._some(one, "in which that crew does nothing", [("crew", block.name), unknown])
            case Factor() if one.what <= {"value", *_SAID}:
                return self._some(one, "in which it multiplied no hours", [("factor", block.name), unknown])
            case Charge():
                return self._every(one, "it may stand on every bill")
            case _:
                return self._every(one, "who works, and when, is not followed")

    # ------------------------------------------------------------------------------------------------ sorts of answers

    def _any(self, keys: Sequence[Key]) -> Callable[[Facts], Touched]:
        layout = self._layout
        return lambda facts: bits(facts, layout, keys)

    def _some(self, one: _Changed, cannot: str, keys: Sequence[Key]) -> Impact:
        return Impact(one.section, one.block.name, one.title, "some", cannot, self._any(keys))

    def _every(self, one: _Changed, why: str) -> Impact:
        return Impact(one.section, one.block.name, one.title, "everyone", f"{why}: {_EVERYONE}")

    def _nobody(self, one: _Changed) -> Impact:
        return Impact(one.section, one.block.name, one.title, "nobody", "at all: nothing reads it")


def _changes(a: Policy, b: Policy) -> Iterator[_Changed]:
    first, second = blocks_of(a), blocks_of(b)
    for section in first:
        for name in sorted({*first[section], *second[section]}):
            before, after = first[section].get(name), second[section].get(name)
            if before is None or after is None:
                yield _Changed(section, before, after, frozenset())
            elif what := _otherwise(before, after):
                yield _Changed(section, before, after, what)


def _otherwise(a: Named, b: Named) -> frozenset[str]:
    """Names of what two blocks say otherwise, but for where they say it."""
    return frozenset(f.name for f in fields(a) if f.name not in ORIGIN and getattr(a, f.name) != getattr(b, f.name))


def _value(one: _Changed) -> Value:
    return one.section, one.block.name


def _read_by(policy: Policy, section: str, name: str) -> bool:
    if name not in blocks_of(policy)[section]:
        return False
    read = readers_of(policy, section, name)
    return bool(read.figures or read.checks or read.rules or read.tasks)


def _doubts(then: object, name: str) -> bool:
    to = getattr(then, "to", None)
    return to is not None and to.form == "parameter" and to.name == name


def _carried(policy: Policy) -> frozenset[str]:
    return frozenset(
        clause.task
        for rule in policy.rules.values()
        for clause in (*rule.when, *rule.any, *rule.unless)
        if isinstance(clause, CarriedClause)
    )


def _either(tests: Sequence[Callable[[Facts], Touched]]) -> Callable[[Facts], Touched]:
    def test(facts: Facts) -> Touched:
        out = np.zeros(len(facts), bool)
        for one in tests:
            out |= one(facts)
        return out

    return test
