"""What of safety the second policy holds looser than the first, or does not show to be as strict.

Followed is all that a rule of safety's authority rests on: its own text, the checks whose words it hears, every value, table and figure
below them, the ± of what they read, and the rules whose findings it reads. A value that is called safer on one side says itself which
way is looser; of any other it is worked out what the safety rules hear less of. Where one hears what is predicted, fewer rounds and any
other assumption are told, but not which way they go; what a task changes in the house, and the tables that only a prediction reads, are not
followed. Nor is that a rule which finds more, and so holds more, lets another rule lift the same hold of yet another rule.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from airwarrant.policy.access import row_of
from airwarrant.policy.digest import same_meaning
from airwarrant.policy.model import (
    Check,
    Parameter,
    Policy,
    Rule,
    Table,
    Then,
)
from airwarrant.policy.rests_on import Key, below, check_refs
from airwarrant.policy.show_values import rows_text, value_text
from airwarrant.policy.steering import ASSUMED
from airwarrant.replay.feeding import Signed, feeding, holds, shunned, signed
from airwarrant.replay.heard import Heard, Strength, heard, judged_again, worst
from airwarrant.replay.moved import figure_moved, judged_whole, limit_moved, opposed, si, with_value
from airwarrant.replay.rule_strength import later, rule_beside
from airwarrant.replay.slopes import Slopes, answers
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.prepared import BAND_FACTOR
from airwarrant.units import UNITS

SAFETY, CODE = "safety", "code"
#: How a sentence ends that names a change of which nobody can say whether it is looser, and one of what adopted law asks for.
UNCLEAR, LAW = "whether it is looser cannot be told", "hold it against the edition in force"
_WHOSE = {SAFETY: "safety rule", CODE: "rule of adopted law"}
_USUAL, _ROUNDS = "plus_minus_", "rounds_most"
_RIGHTS = ("locked", "code", "company", "job")
#: A value that moved: before and after, each None where there is no answer.
_Move = tuple[float | None, float | None]


def loosened(a: Policy, b: Policy) -> tuple[str, ...]:
    """Return a sentence for each change, in the order values, checks, rules, tasks and by name.

    A safety rule or a check of one counts as loosened where nothing shows that it is as strict. A value, figure or rule of the
    company's below it of which that is not known, a practice rule whose finding it reads, and whatever makes a rule of adopted law act
    in fewer cases, is only told: `is_only_told` knows its sentence. What law asks for may change with its edition.
    """
    return tuple(dict.fromkeys((*_Loosened(a, b, SAFETY).of_safety(), *_Loosened(a, b, CODE).of_law())))


def is_only_told(said: str) -> bool:
    """Whether a sentence of `loosened` names what is changed, and is no failure by itself."""
    return said.endswith((UNCLEAR, LAW))


@dataclass(frozen=True, slots=True)
class _Followed:
    """A check that rules rest on, and what is heard of it; `own` where one of the authority in question hears it itself."""

    check: Check
    heard: tuple[Heard, ...]
    own: bool


class _Loosened:
    def __init__(self, a: Policy, b: Policy, authority: str) -> None:
        self._a, self._b, self._whose = a, b, _WHOSE[authority]
        self._safety = authority == SAFETY
        self._rules = [(rule, 1) for rule in a.rules.values() if rule.authority == authority]
        own = list(self._followed(self._rules, own=True))
        beside = [*self._freeing(), *self._widening(own)] if self._safety else []
        seeds = [*signed(self._rules), *beside] if self._safety else []
        self._feeding = feeding(a, seeds, authority)
        self._silencing = sorted(set(shunned((*seeds, *self._feeding))), key=lambda one: (one[0], -len(one[1])))
        self._checks = [*own, *self._followed([*self._feeding, *beside], own=False)]
        self._rests = {one.check.name: below(a, check_refs(one.check)) for one in self._checks}
        checks = [one.check for one in self._checks]
        self._whole = {check.name for check in checks if judged_whole(a, b, check, b.checks.get(check.name))}

    def of_safety(self) -> Iterator[str]:
        yield from self._parameters()
        yield from self._tables()
        yield from self._figures()
        yield from self._of_checks()
        yield from self._of_rules()
        yield from self._fed()
        yield from self._doubting()
        yield from self._lifting()
        yield from self._of_tasks()

    def of_law(self) -> Iterator[str]:
        for several in (self._parameters(), self._tables(), self._figures(), self._of_checks(), self._of_rules()):
            yield from (f"{one.removesuffix(f'; {UNCLEAR}')}; {LAW}" for one in several)

    def _followed(self, rules: list[tuple[Rule, int]], own: bool) -> Iterator[_Followed]:
        names = {check for rule, _ in rules for check, _ in checks_read(rule)}
        names |= {then.name for rule, _ in rules for then in rule.then if then.what == "target"}
        for name in sorted(names & self._a.checks.keys()):
            check = self._a.checks[name]
            yield _Followed(check, heard(self._a, rules, check), own)

    def _freeing(self) -> list[Signed]:
        """Rules of other authority that lift what safety holds: safer silent."""
        rules = [rule for rule in self._a.rules.values() if rule.authority != SAFETY]
        return [(replace(rule, then=lifts), -1) for rule in rules if (lifts := self._lifted(rule))]

    def _lifted(self, rule: Rule) -> tuple[Then, ...]:
        held = {name for other, _ in self._rules for name in holds(other)}
        return tuple(then for then in rule.then if then.what == "lift" and then.name in held)

    def _widening(self, own: list[_Followed]) -> list[Signed]:
        """Rules that widen what safety's own checks read, by whether it loses by a narrower reading or by a wider one."""
        found = []
        for sign in (1, -1):
            fields = {
                name
                for one in own
                if judged_again(one.check, one.check, one.heard, 0, -1 if sign > 0 else 1)[0] != "strict"
                for form, name in below(self._a, check_refs(one.check))
                if form == "field"
            }
            for rule in self._a.rules.values():
                said = tuple(then for then in rule.then if then.what == "doubt" and then.name in fields)
                if said and (sign < 0 or rule.authority != SAFETY):
                    found.append((replace(rule, then=said), sign))
        return found

    # ------------------------------------------------------------------------------------------------ values

    def _parameters(self) -> Iterator[str]:
        for name, old in self._a.parameters.items():
            new = self._b.parameters.get(name)
            if new is not None and same_meaning(old, new):
                continue
            yield from self._rights(old, new)
            yield from self._predicted(old, new)
            if (old.safer and not isinstance(old.value, str)) or old.edit == "locked":
                yield from self._kept(old, new) if self._safety else ()
                continue
            strength, rule, own = self._parameter(old, new)
            yield from self._said(_from_to(old, new), strength, rule, own)

    def _predicted(self, old: Parameter, new: Parameter | None) -> Iterator[str]:
        """Fewer rounds, or another assumption, where a rule hears what is predicted: which way the prediction goes is not followed."""
        moved = new is None or (new.value, new.unit) != (old.value, old.unit)
        fewer = old.name == _ROUNDS and (
            new is None or isinstance(new.value, str) or float(new.value) < float(old.value)
        )
        if not (fewer or (moved and old.name.startswith(ASSUMED))):
            return
        hears = (
            rule for rule, _ in (*self._rules, *self._feeding) if "predicted" in {time for _, time in checks_read(rule)}
        )
        rule = next(hears, None)
        if rule is not None:
            yield f"{_from_to(old, new)}, and the prediction that “{rule.title}” hears is made with it; {UNCLEAR}"

    def _kept(self, old: Parameter, new: Parameter | None) -> Iterator[str]:
        """A value that says itself which side is safer, or that is locked."""
        if not old.safer or isinstance(old.value, str):
            if new is None or (new.value, new.unit) != (old.value, old.unit):
                yield f"{_from_to(old, new)}, though it is locked: nothing shows that it is as strict"
        elif new is None or isinstance(new.value, str) or _dimension(old) != _dimension(new):
            yield f"“{old.title}” ({old.name}) is gone, or is no such value any more"
        elif _loosened(si(old), si(new), old.safer):
            yield f"{_from_to(old, new)}; {old.safer} is safer"

    def _parameter(self, old: Parameter, new: Parameter | None) -> tuple[Strength, str, bool]:
        if isinstance(old.value, str):
            return "strict", "", True
        if new is None or isinstance(new.value, str) or _dimension(old) != _dimension(new):
            move: _Move = (si(old), None)
        else:
            move = (si(old), si(new))
        return self._moved(("parameter", old.name), [(move, "")])

    def _tables(self) -> Iterator[str]:
        for name, old in self._a.tables.items():
            new = self._b.tables.get(name)
            if new is not None and same_meaning(old, new):
                continue
            yield from self._rights(old, new)
            whole = new if new is not None and answers(old, new) else None
            if old.safer or old.edit == "locked":
                kept = list(self._kept_table(old, whole)) if self._safety else []
                yield from kept or self._gained(old, whole)
                continue
            moves: list[tuple[_Move, str]]
            if whole is None:
                moves = [((answer, None), str(key)) for key, answer in old.rows]
            else:
                moves = [(_at(old, whole, key), str(key)) for key in _probes(old, whole)]
            strength, rule, own = self._moved(("table", name), moves)
            now = "gone, or goes by something else" if whole is None else _rows_moved(old, whole)
            yield from self._said(f"“{old.title}” ({name}) is {now}", strength, rule, own)

    def _kept_table(self, old: Table, new: Table | None) -> Iterator[str]:
        if new is None:
            yield f"“{old.title}” ({old.name}) is gone, or goes by something else"
        elif not old.safer:
            if old.rows != new.rows:
                yield f"“{old.title}” ({old.name}) is {_rows_moved(old, new)}, though it is locked: nothing shows that it is as strict"
        elif any(_looser_at(old, new, key) for key in _probes(old, new)):
            yield f"“{old.title}” ({old.name}) is {_rows_moved(old, new)}; {old.safer} is safer"

    def _gained(self, old: Table, new: Table | None) -> Iterator[str]:
        """Answers where a table that says which side is safer had none: neither side holds for them."""
        if new is None:
            return
        moves = [(_at(old, new, key), str(key)) for key in _probes(old, new)]
        found = self._moved(("table", old.name), [(move, key) for move, key in moves if move[0] is None])
        yield from self._said(f"“{old.title}” ({old.name}) is {_rows_moved(old, new)}", *found)

    def _moved(self, value: Key, moves: Iterable[tuple[_Move, str]]) -> tuple[Strength, str, bool]:
        """The loosest that becomes of any check as a value moves, with the rule that speaks less and whether it is safety's own."""
        found: tuple[Strength, str, bool] = ("strict", "", True)
        slopes = Slopes(self._a, value)
        for (before, after), key in moves:
            if before == after:
                continue
            for one in self._checks:
                check, rests = one.check, self._rests[one.check.name]
                margin = band = with_value(0, before, after)
                answered = (True, True)
                if value in (rests if check.name not in self._whole else below(self._a, (check.reading,))):
                    margin = with_value(slopes.margin(check), before, after)
                    answered = before is not None, after is not None
                if self._widens(value, key, rests):
                    band = with_value(1, before or 0.0, after or 0.0)
                if margin == band == 0 and answered == (True, True):
                    continue
                found = _looser_of(found, (*judged_again(check, check, one.heard, margin, band, answered), one.own))
        return found

    def _widens(self, value: Key, key: str, rests: tuple[Key, ...]) -> bool:
        """Whether a value is, or widens, the ± of something that a check rests on."""
        form, name = value
        if value == ("parameter", BAND_FACTOR):
            return True
        if form == "table" and name.startswith(_USUAL):
            return ("field", key) in rests
        return any(
            then.to is not None and (then.to.form, then.to.name) == value and ("field", then.name) in rests
            for rule in self._a.rules.values()
            for then in rule.then
        )

    def _rights(self, old: Parameter | Table, new: Parameter | Table | None) -> Iterator[str]:
        if new is None or not self._safety:
            return
        if old.edit == "locked" and _RIGHTS.index(new.edit) > _RIGHTS.index(old.edit):
            yield f"“{old.title}” ({old.name}) is no longer locked"
        if old.safer and new.safer != old.safer:
            yield f"“{old.title}” ({old.name}) no longer says that {old.safer} is safer"

    # ------------------------------------------------------------------------------------------------ figures, checks

    def _figures(self) -> Iterator[str]:
        for name, old in self._a.figures.items():
            new = self._b.figures.get(name)
            if new is not None and same_meaning(replace(old, title="", unit=""), replace(new, title="", unit="")):
                continue
            found: tuple[Strength, str, bool] = ("strict", "", True)
            way = None if new is None else figure_moved(old, new)
            for one in self._checks:
                if ("figure", name) not in self._rests[one.check.name]:
                    continue
                margin = opposed(Slopes(self._a, ("figure", name)).margin(one.check), way)
                found = _looser_of(found, (*judged_again(one.check, one.check, one.heard, margin), one.own))
                if way is None and one.heard:
                    found = _looser_of(found, ("unclear", one.heard[0].rule, one.own))
            how = "is gone" if new is None else "is made otherwise"
            yield from self._said(f"the figure “{old.title}” ({name}) {how}", *found)

    def _of_checks(self) -> Iterator[str]:
        for one in self._checks:
            old, new = one.check, self._b.checks.get(one.check.name)
            if new is not None and one.own and self._read_later(old, new, one.heard):
                yield f"the check “{old.title}” ({old.name}), which a {self._whose} reads, may be read again later than before"
            if new is not None and _as_it_was(old, new):
                continue
            strength, how = self._check(old, new, one.heard)
            if strength == "strict":
                continue
            if one.own:
                yield f"the check “{old.title}” ({old.name}), which a {self._whose} reads, {how}"
            else:
                yield f"the check “{old.title}” ({old.name}), on which a {self._whose} rests, is changed; {UNCLEAR}"

    def _read_later(self, old: Check, new: Check, by: tuple[Heard, ...]) -> bool:
        """Whether what is too close to call waits longer for the reading that decides it."""
        decides = any(("pass" in one.words) != ("fail" in one.words) for one in by)
        if not decides or not old.doubt == new.doubt == "retest":
            return False
        before, after = (_again(policy, check) for policy, check in ((self._a, old), (self._b, new)))
        return later(before, after)

    def _check(self, old: Check, new: Check | None, by: tuple[Heard, ...]) -> tuple[Strength, str]:
        if new is None:
            return "looser", "is gone"
        if (old.each, old.reading) != (new.each, new.reading):
            return "unclear", "judges something else: nothing shows that it is as strict"
        if old.acceptance and not new.acceptance:
            return "looser", "is no longer part of acceptance"
        found = [
            (judged_again(old, replace(old, must_be=new.must_be), by), f"is met where it is {new.must_be} its limit"),
            (judged_again(old, replace(old, doubt=new.doubt), by), "counts what is too close to call otherwise"),
            (judged_again(old, replace(old, needs=new.needs), by), "takes readings of another state"),
            (judged_again(old, old, by, opposed(-1, limit_moved(self._a, self._b, old, new))), "has another limit"),
        ]
        strength = worst(one for (one, _), _ in found)
        how = next((how for (one, _), how in found if one == strength), "")
        return strength, how + ("" if strength == "looser" else ": nothing shows that it is as strict")

    # ------------------------------------------------------------------------------------------------ rules, tasks

    def _of_rules(self) -> Iterator[str]:
        for old, _ in self._rules:
            yield from self._rule_rights(old)
            strength, how = rule_beside(old, self._b.rules.get(old.name))
            if strength != "strict":
                proved = "" if strength == "looser" else ": nothing shows that it is as strict"
                yield f"the {self._whose} “{old.title}” ({old.name}) {how}{proved}"

    def _rule_rights(self, old: Rule) -> Iterator[str]:
        new = self._b.rules.get(old.name)
        if new is not None and self._safety and _edit(old) == "locked" and _edit(new) != "locked":
            yield f"the safety rule “{old.title}” ({old.name}) is no longer locked"

    def _fed(self) -> Iterator[str]:
        """Rules whose findings safety rules read."""
        for old, sign in self._feeding:
            new = self._b.rules.get(old.name)
            if _finds(old, new, sign) != "strict":
                gone = "gone" if new is None else "changed"
                yield f"the rule “{old.title}” ({old.name}), on whose finding a safety rule rests, is {gone}; {UNCLEAR}"
        for name, new in self._b.rules.items():
            before = self._a.rules[name].then if name in self._a.rules else ()
            silencing = {finding: lifted for finding, lifted in self._silencing if not lifted & holds(new)}
            found = [
                then for then in new.then if then.what == "finding" and then.name in silencing and then not in before
            ]
            if found:
                finds = found[0].name
                does = "lets a rule lift what safety holds" if silencing[finds] else "keeps a safety rule silent"
                yield f"the rule “{new.title}” ({name}) finds {finds}, which {does}; {UNCLEAR}"

    def _doubting(self) -> Iterator[str]:
        """Rules that widen the ± of what a safety rule's check rests on: what a narrower or a wider one takes from the rule."""
        for name in {**self._a.rules, **self._b.rules}:
            old, new = self._a.rules.get(name), self._b.rules.get(name)
            for field in sorted({*_fields_widened(old), *_fields_widened(new)}):
                parts = _widening(old, field), _widening(new, field)
                yield from self._wider(name, field, *parts)

    def _wider(self, name: str, field: str, old: Rule | None, new: Rule | None) -> Iterator[str]:
        # A safety rule that widens less is told among the rules themselves.
        was_safety = name in self._a.rules and self._a.rules[name].authority == SAFETY
        less = old is not None and not was_safety and rule_beside(old, new)[0] != "strict"
        more = new is not None and (old is None or rule_beside(new, old)[0] != "strict")
        rule = old or new
        assert rule is not None
        for one in self._checks:
            if not one.own or ("field", field) not in self._rests[one.check.name]:
                continue
            said, check = f"the rule “{rule.title}” ({name})", f"“{one.check.title}” ({one.check.name})"
            if less and judged_again(one.check, one.check, one.heard, 0, -1)[0] != "strict":
                yield f"{said} no longer widens, wherever it did, what the safety check {check} reads"
            if more and judged_again(one.check, one.check, one.heard, 0, 1)[0] != "strict":
                yield f"{said} widens, where it did not, what the safety check {check} reads: more is too close to call"

    def _lifting(self) -> Iterator[str]:
        """Rules that free what safety holds, and are no safety rules of both."""
        safety = {rule.name for rule, _ in self._rules}
        for name, new in self._b.rules.items():
            old = self._a.rules.get(name)
            known = () if old is None else old.then
            lifts = self._lifted(new)
            if name in safety or not lifts:
                continue
            if old is None or any(then not in known for then in lifts) or rule_beside(new, old)[0] != "strict":
                yield f"the rule “{new.title}” ({name}) lifts {lifts[0].name}, which a safety rule holds, where none did"

    def _of_tasks(self) -> Iterator[str]:
        held = {then.name for rule, _ in self._rules for then in rule.then if then.what in ("hold", "decline")}
        findings = {then.name for rule, _ in self._rules for then in rule.then if then.what == "finding"}
        for name, old in self._a.tasks.items():
            new = self._b.tasks.get(name)
            if new is None:
                continue
            for group in old.groups:
                if f"group:{group}" in held and group not in new.groups:
                    yield f"the task “{old.title}” ({name}) is no longer of the group {group}, which a safety rule holds"
            for need in old.needs:
                if need.while_finding in findings and need not in new.needs:
                    yield f"the task “{old.title}” ({name}) no longer needs {need.task} while {need.while_finding} stands"

    def _said(self, what: str, strength: Strength, rule: str, own: bool) -> Iterator[str]:
        if strength == "strict" or not rule:
            return
        title = self._a.rules[rule].title
        if strength == "looser" and own:
            yield f"{what}: the {self._whose} “{title}” acts in fewer cases"
        elif own:
            yield f"{what}, on which the {self._whose} “{title}” rests; {UNCLEAR}"
        else:
            yield f"{what}, on which a {self._whose} rests through “{title}”; {UNCLEAR}"


def _looser_of(one: tuple[Strength, str, bool], other: tuple[Strength, str, bool]) -> tuple[Strength, str, bool]:
    """The looser of two; of safety's own before what it rests on."""

    def rank(found: tuple[Strength, str, bool]) -> tuple[bool, bool, bool]:
        strength, _, own = found
        return strength != "strict", own, strength == "looser"

    return max(one, other, key=rank)


def _finds(old: Rule, new: Rule | None, sign: int) -> Strength:
    """Whether a rule finds at least what it found, or where it is safer silent at most that."""
    if sign > 0:
        return rule_beside(old, new)[0]
    findings = None if new is None else tuple(then for then in new.then if then.what == "finding" and then in old.then)
    if new is None or not findings:
        return "strict"
    return rule_beside(replace(new, then=findings, authority=old.authority), old)[0]


def _fields_widened(rule: Rule | None) -> list[str]:
    return [] if rule is None else [then.name for then in rule.then if then.what == "doubt"]


def _widening(rule: Rule | None, field: str) -> Rule | None:
    """What a rule says of the ± of one field, by whatever authority."""
    if rule is None or field not in _fields_widened(rule):
        return None
    said = tuple(then for then in rule.then if then.what == "doubt" and then.name == field)
    return replace(rule, then=said, authority="data")


def _edit(rule: Rule) -> str:
    """Who may edit a rule; empty where it is not said."""
    said = rule.keys.get("edit")
    return "" if said is None else str(said.value)


def _again(policy: Policy, check: Check) -> str:
    """When a reading that is too close to call is taken again."""
    usual = policy.parameters.get("doubt_when")
    return check.retest_when or ("" if usual is None else str(usual.value))


def _as_it_was(old: Check, new: Check) -> bool:
    return same_meaning(replace(old, title="", retest_when=""), replace(new, title="", retest_when=""))


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
