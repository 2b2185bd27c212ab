"""Which values below safety rules and rules of adopted law the second policy holds looser: parameters, tables and figures."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from airwarrant.policy.access import row_of
from airwarrant.policy.digest import same_meaning
from airwarrant.policy.model import Parameter, Table
from airwarrant.policy.rests_on import Key, below
from airwarrant.policy.show_values import rows_text, value_text
from airwarrant.policy.steering import ASSUMED, PLUS_MINUS
from airwarrant.replay.followed import UNCHANGED, UNCLEAR, Found, Looser, Rests, looser_of
from airwarrant.replay.heard import judged_again
from airwarrant.replay.moved import figure_moved, opposed, si, with_value
from airwarrant.replay.slopes import Slopes, answers
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.prepared import BAND_FACTOR
from airwarrant.units import UNITS

_ROUNDS = "rounds_most"
_RIGHTS = ("locked", "code", "company", "job")
#: A value that moved: before and after, each None where there is no answer.
_Move = tuple[float | None, float | None]


class LooserValues:
    """Looks through the values of two policies."""

    def __init__(self, rests: Rests) -> None:
        self._r = rests

    def all(self) -> Iterator[Looser]:
        yield from self._parameters()
        yield from self._tables()
        yield from self._figures()

    def _parameters(self) -> Iterator[Looser]:
        for name, old in self._r.a.parameters.items():
            new = self._r.b.parameters.get(name)
            if new is not None and same_meaning(old, new):
                continue
            yield from self._rights(old, new)
            yield from self._predicted(old, new)
            if (old.safer and not isinstance(old.value, str)) or old.edit == "locked":
                yield from self._kept(old, new) if self._r.safety else ()
                continue
            strength, rule, own = self._parameter(old, new)
            yield from self._r.said(_from_to(old, new), strength, rule, own)

    def _predicted(self, old: Parameter, new: Parameter | None) -> Iterator[Looser]:
        """Fewer rounds, or another assumption, where a rule hears what is predicted: which way the prediction goes is not followed."""
        moved = new is None or (new.value, new.unit) != (old.value, old.unit)
        fewer = old.name == _ROUNDS and (
            new is None or isinstance(new.value, str) or float(new.value) < float(old.value)
        )
        if not (fewer or (moved and old.name.startswith(ASSUMED))):
            return
        hears = (
            rule
            for rule, _ in (*self._r.rules, *self._r.feeding)
            if "predicted" in {time for _, time in checks_read(rule)}
        )
        rule = next(hears, None)
        if rule is not None:
            yield Looser(f"{_from_to(old, new)}, and the prediction that “{rule.title}” hears is made with it", UNCLEAR)

    def _kept(self, old: Parameter, new: Parameter | None) -> Iterator[Looser]:
        """A value that says itself which side is safer, or that is locked."""
        if not old.safer or isinstance(old.value, str):
            if new is None or (new.value, new.unit) != (old.value, old.unit):
                yield Looser(f"{_from_to(old, new)}, though it is locked: nothing shows that it is as strict")
        elif new is None or isinstance(new.value, str) or _dimension(old) != _dimension(new):
            yield Looser(f"“{old.title}” ({old.name}) is gone, or is no such value any more")
        elif _loosened(si(old), si(new), old.safer):
            yield Looser(f"{_from_to(old, new)}; {old.safer} is safer")

    def _parameter(self, old: Parameter, new: Parameter | None) -> Found:
        if isinstance(old.value, str):
            return "strict", "", True
        if new is None or isinstance(new.value, str) or _dimension(old) != _dimension(new):
            move: _Move = (si(old), None)
        else:
            move = (si(old), si(new))
        return self._moved(("parameter", old.name), [(move, "")])

    def _tables(self) -> Iterator[Looser]:
        for name, old in self._r.a.tables.items():
            new = self._r.b.tables.get(name)
            if new is not None and same_meaning(old, new):
                continue
            yield from self._rights(old, new)
            whole = new if new is not None and answers(old, new) else None
            if old.safer or old.edit == "locked":
                kept = list(self._kept_table(old, whole)) if self._r.safety else []
                yield from kept or self._gained(old, whole)
                continue
            moves: list[tuple[_Move, str]]
            if whole is None:
                moves = [((answer, None), str(key)) for key, answer in old.rows]
            else:
                moves = [(_at(old, whole, key), str(key)) for key in _probes(old, whole)]
            strength, rule, own = self._moved(("table", name), moves)
            now = "gone, or goes by something else" if whole is None else _rows_moved(old, whole)
            yield from self._r.said(f"“{old.title}” ({name}) is {now}", strength, rule, own)

    def _kept_table(self, old: Table, new: Table | None) -> Iterator[Looser]:
        if new is None:
            yield Looser(f"“{old.title}” ({old.name}) is gone, or goes by something else")
        elif not old.safer:
            if old.rows != new.rows:
                moved = _rows_moved(old, new)
                yield Looser(
                    f"“{old.title}” ({old.name}) is {moved}, though it is locked: nothing shows that it is as strict"
                )
        elif any(_looser_at(old, new, key) for key in _probes(old, new)):
            yield Looser(f"“{old.title}” ({old.name}) is {_rows_moved(old, new)}; {old.safer} is safer")

    def _gained(self, old: Table, new: Table | None) -> Iterator[Looser]:
        """Answers where a table that says which side is safer had none: neither side holds for them."""
        if new is None:
            return
        moves = [(_at(old, new, key), str(key)) for key in _probes(old, new)]
        found = self._moved(("table", old.name), [(move, key) for move, key in moves if move[0] is None])
        yield from self._r.said(f"“{old.title}” ({old.name}) is {_rows_moved(old, new)}", *found)

    def _moved(self, value: Key, moves: Iterable[tuple[_Move, str]]) -> Found:
        """The loosest that becomes of any check as a value moves, with the rule that speaks less and whether it is safety's own."""
        found = UNCHANGED
        slopes = Slopes(self._r.a, value)
        for (before, after), key in moves:
            if before == after:
                continue
            for one in self._r.checks:
                check, rests = one.check, self._r.rests[one.check.name]
                margin = band = with_value(0, before, after)
                answered = (True, True)
                if value in (rests if check.name not in self._r.whole else below(self._r.a, (check.reading,))):
                    margin = with_value(slopes.margin(check), before, after)
                    answered = before is not None, after is not None
                if self._widens(value, key, rests):
                    band = with_value(1, before or 0.0, after or 0.0)
                if margin == band == 0 and answered == (True, True):
                    continue
                found = looser_of(found, (*judged_again(check, check, one.heard, margin, band, answered), one.own))
        return found

    def _widens(self, value: Key, key: str, rests: tuple[Key, ...]) -> bool:
        """Whether a value is, or widens, the ± of something that a check rests on."""
        form, name = value
        if value == ("parameter", BAND_FACTOR):
            return True
        if form == "table" and name.startswith(PLUS_MINUS):
            return ("field", key) in rests
        return any(
            then.to is not None and (then.to.form, then.to.name) == value and ("field", then.name) in rests
            for rule in self._r.a.rules.values()
            for then in rule.then
        )

    def _rights(self, old: Parameter | Table, new: Parameter | Table | None) -> Iterator[Looser]:
        if new is None or not self._r.safety:
            return
        if old.edit == "locked" and _RIGHTS.index(new.edit) > _RIGHTS.index(old.edit):
            yield Looser(f"“{old.title}” ({old.name}) is no longer locked")
        if old.safer and new.safer != old.safer:
            yield Looser(f"“{old.title}” ({old.name}) no longer says that {old.safer} is safer")

    def _figures(self) -> Iterator[Looser]:
        for name, old in self._r.a.figures.items():
            new = self._r.b.figures.get(name)
            if new is not None and same_meaning(replace(old, title="", unit=""), replace(new, title="", unit="")):
                continue
            found = UNCHANGED
            way = None if new is None else figure_moved(old, new)
            for one in self._r.checks:
                if ("figure", name) not in self._r.rests[one.check.name]:
                    continue
                margin = opposed(Slopes(self._r.a, ("figure", name)).margin(one.check), way)
                found = looser_of(found, (*judged_again(one.check, one.check, one.heard, margin), one.own))
                if way is None and one.heard:
                    found = looser_of(found, ("unclear", one.heard[0].rule, one.own))
            how = "is gone" if new is None else "is made otherwise"
            yield from self._r.said(f"the figure “{old.title}” ({name}) {how}", *found)


def _looser_at(old: Table, new: Table, key: float | str) -> bool:
    before, after = _at(old, new, key)
    return before is not None and (after is None or _loosened(before, after, old.safer))


def _at(old: Table, new: Table, key: float | str) -> _Move:
    before, after = (row_of(one.rows, key, one.between, one.below_first, one.above_last) for one in (old, new))
    return None if before is None else before[0], None if after is None else after[0]


def _probes(old: Table, new: Table) -> list[float | str]:
    """Every key of either; of numbers also what lies between them and beyond the ends."""
    keys = {key for table in (old, new) for key, _ in table.rows}
    numbers = sorted(float(key) for key in keys if not isinstance(key, str))
    if len(numbers) < len(keys):
        return sorted(map(str, keys))
    between = [(low + high) / 2.0 for low, high in pairwise(numbers)]
    return [numbers[0] - 1.0, *numbers, *between, numbers[-1] + 1.0] if numbers else []


def _rows_moved(old: Table, new: Table) -> str:
    """Only the rows that differ, before and after."""
    kept = set(old.rows) & set(new.rows)
    before, after = (replace(one, rows=tuple(row for row in one.rows if row not in kept)) for one in (old, new))
    return f"{rows_text(after) or 'without an answer'} instead of {rows_text(before) or 'no answer'}"


def _from_to(old: Parameter, new: Parameter | None) -> str:
    now = "gone" if new is None else f"{value_text(new.value, new.unit)} instead of {value_text(old.value, old.unit)}"
    return f"“{old.title}” ({old.name}) is {now}"


def _loosened(before: float, after: float, safer: str) -> bool:
    return after > before if safer == "lower" else after < before


def _dimension(parameter: Parameter) -> object:
    return UNITS[parameter.unit].dimension
