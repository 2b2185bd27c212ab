"""How values, tables, figures and checks of two policies differ."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from airwarrant.desks.policy_diff_points import Point, both, one, two
from airwarrant.desks.policy_diff_voice import Side, Voice, source_of, source_of_key
from airwarrant.policy.access import row_of
from airwarrant.policy.checks import limit_refs
from airwarrant.policy.layers import LIMITS
from airwarrant.policy.model import Check, Figure, Named, Parameter, Policy, Table
from airwarrant.policy.show import check_sentence
from airwarrant.policy.show_values import figure_sentence, outside_text, row_key_text, rows_text, value_text
from airwarrant.units import UNITS

_UPPER = ("at most", "below")


def parameter_points(voice: Voice, a: Parameter, b: Parameter) -> Iterator[Point]:
    """Value with its unit, the safe side, and which checks fail sooner or later by it."""
    if (a.value, a.unit) != (b.value, b.unit):
        texts = _value(voice.a.policy, a), _value(voice.b.policy, b)
        sources = source_of(a.keys["value"]), source_of(b.keys["value"])
        point = two(voice, "value", f"“{b.title}”", (texts[0], sources[0]), (texts[1], sources[1]))
        yield from _with_effect([point], _effect(voice, "parameter", b.name, _moved(a, b)))
    if a.safer != b.safer:
        texts = a.safer or "neither", b.safer or "neither"
        yield both(voice, "safer", f"the safe side of “{b.title}”", texts, a, b, "safer")


def table_points(voice: Voice, a: Table, b: Table) -> Iterator[Point]:
    """Rows one by one, then what the table says between and beyond them and what is calculated beside it."""
    if (a.by, a.by_unit, a.unit) != (b.by, b.by_unit, b.unit):
        how = tuple(f"{t.by or 'word'} in {t.by_unit or 'words'}, answers in {t.unit}" for t in (a, b))
        yield both(voice, "by", f"“{b.title}”", (how[0], how[1]), a, b, "by", verb="goes by")
    answers = list(_rows(voice, a, b)) if a.rows != b.rows or a.unit != b.unit or a.between != b.between else []
    outside = outside_text(a), outside_text(b)
    if outside[0] != outside[1] and all(outside):
        answers.append(both(voice, "outside", f"“{b.title}”", outside, a, b, "below_first", "above_last", verb="gives"))
    if answers:
        yield from _with_effect(answers, _effect(voice, "table", b.name, _answers_moved(a, b)))
    if a.safer != b.safer:
        texts = a.safer or "neither", b.safer or "neither"
        yield both(voice, "safer", f"the safe side of “{b.title}”", texts, a, b, "safer")
    if a.beside != b.beside:
        for side, table, other in ((voice.b, b, a), (voice.a, a, b)):
            for proof in table.beside:
                if proof not in other.beside:
                    said = f"beside each row of “{table.title}” stands “{proof.title}”"
                    yield one(voice, "beside", side, said, source_of_key(table, "beside"))


def figure_points(voice: Voice, a: Figure, b: Figure) -> Iterator[Point]:
    """How a figure comes about, on either side."""
    for side, figure in ((voice.b, b), (voice.a, a)):
        yield one(voice, "step", side, figure_sentence(figure), source_of_key(figure, figure.step))


def check_points(voice: Voice, a: Check, b: Check) -> Iterator[Point]:
    """The check as a sentence on either side; acceptance and the time of a retest apart."""
    said = tuple(check_sentence(side.policy, check) for side, check in ((voice.a, a), (voice.b, b)))
    held = ("each", "reading", "must_be", "limits", "choose", "times", "needs", "doubt")
    if any(getattr(a, key) != getattr(b, key) for key in held):
        keys = ("reading", "must_be", *LIMITS, "times", "needs", "doubt")
        changed = tuple(key for key in keys if key in b.keys and b.keys[key].value != _raw(a, key)) or keys
        for side, check, text in ((voice.b, b, said[1]), (voice.a, a, said[0])):
            yield one(voice, "check", side, text, source_of_key(check, *changed), f"“{check.title}” reads: {text}")
    if a.acceptance != b.acceptance:
        words = {True: "is held against the test-out", False: "is not held against the test-out"}
        for side, check in ((voice.b, b), (voice.a, a)):
            said_so = f"“{check.title}” {words[check.acceptance]}"
            yield one(voice, "acceptance", side, said_so, source_of_key(check, "acceptance"))
    if a.retest_when != b.retest_when:
        otherwise = "as the policy says for all"
        times = a.retest_when or otherwise, b.retest_when or otherwise
        yield both(voice, "retest_when", f"the time to read “{b.title}” again", times, a, b, "retest_when")


def _raw(block: Named, key: str) -> object:
    return block.keys[key].value if key in block.keys else None


def _value(policy: Policy, parameter: Parameter) -> str:
    return value_text(parameter.value, parameter.unit, policy.market.currency)


def _rows(voice: Voice, a: Table, b: Table) -> Iterator[Point]:
    sources = source_of(a.keys["rows"]), source_of(b.keys["rows"])
    if len(a.rows) == len(b.rows) == 1 or not {k for k, _ in a.rows} & {k for k, _ in b.rows}:
        yield two(voice, "rows", f"“{b.title}”", (rows_text(a), sources[0]), (rows_text(b), sources[1]))
        return
    first, second = dict(a.rows), dict(b.rows)
    keys = list(dict.fromkeys((*second, *first)))
    if not any(isinstance(key, str) for key in keys):
        keys.sort(key=float)
    for key in keys:
        if key in first and key in second:
            texts = value_text(first[key], a.unit), value_text(second[key], b.unit)
            if texts[0] != texts[1] or a.between != b.between:
                subject = f"“{b.title}” {row_key_text(b, key)}"
                yield two(voice, f"row {key}", subject, (texts[0], sources[0]), (texts[1], sources[1]))
            continue
        side, table, source, answer = (
            (voice.b, b, sources[1], second[key]) if key in second else (voice.a, a, sources[0], first[key])
        )
        text = f"{value_text(answer, table.unit)} {row_key_text(table, key)}"
        yield one(voice, f"row {key}", side, text, source, f"“{table.title}” also says {text}")


def _moved(a: Parameter, b: Parameter) -> int:
    """Whether a number is higher (1) or lower (-1) on the second side; 0 for words and where units do not compare."""
    if isinstance(a.value, str) or isinstance(b.value, str):
        return 0
    first, second = UNITS[a.unit], UNITS[b.unit]
    if first.dimension != second.dimension:
        return 0
    before, after = a.value * first.factor + first.offset, b.value * second.factor + second.offset
    return (after > before) - (after < before)


def _answers_moved(a: Table, b: Table) -> int:
    """Whether no answer of a table of numbers is lower (1) or none is higher (-1) on the second side; else 0."""
    if a.unit != b.unit or a.by_unit != b.by_unit or a.by != b.by:
        return 0
    if any(isinstance(key, str) for key, _ in (*a.rows, *b.rows)):
        asked: list[float | str] = sorted({str(key) for key, _ in (*a.rows, *b.rows)})
    else:
        keys = sorted({float(key) for key, _ in (*a.rows, *b.rows)})
        between = [(low + high) / 2 for low, high in pairwise(keys)]
        asked = [keys[0] - 1.0, *keys, *between, keys[-1] + 1.0]
    moves = set()
    for key in asked:
        before, after = (row_of(t.rows, key, t.between, t.below_first, t.above_last) for t in (a, b))
        if (before is None) != (after is None):
            return 0
        if before is not None and after is not None:
            moves.add((after[0] > before[0]) - (after[0] < before[0]))
    moves.discard(0)
    return moves.pop() if len(moves) == 1 else 0


def _effect(voice: Voice, form: str, name: str, moved: int) -> str:
    """Say which checks fail sooner or later: those held against this value as it stands, in the same way on both sides."""
    told: dict[str, list[Check]] = {}
    for check in voice.b.policy.checks.values() if moved else ():
        if check.name in voice.a.policy.checks and _plain_limit(voice, check, form, name):
            when = "sooner" if (moved < 0) is (check.must_be in _UPPER) else "later"
            told.setdefault(f"fail {when}" if len(check.limits) == 1 else f"can fail {when}", []).append(check)
    said = ""
    for fails, checks in told.items():
        *names, last = (f"“{check.title}”" for check in checks)
        all_of_them = f"{', '.join(names)} and {last}" if names else last
        verb = fails if names or fails.startswith("can") else fails.replace("fail", "fails", 1)
        said += f" So {all_of_them} {verb} {voice.within(voice.b)}."
    return said


def _with_effect(points: Iterable[Point], effect: str) -> Iterator[Point]:
    """The points, the last with what comes of them all."""
    *before, last = points
    yield from before
    yield replace(last, says=last.says + effect)


def _plain_limit(voice: Voice, check: Check, form: str, name: str) -> bool:
    """Whether the value itself, and nothing made of it, is a limit of a check; of several limits one counts."""
    other = voice.a.policy.checks[check.name]
    if (check.limits, check.choose, check.must_be, check.times) != (
        other.limits,
        other.choose,
        other.must_be,
        other.times,
    ):
        return False
    if check.times is not None:
        return False
    held = [limit for limit in check.limits if any(r is not None and r.name == name for r in limit_refs(limit))]
    plain = [x for x in held if x.less is None and x.more is None and (x.of.form, x.of.name) == (form, name)]
    return bool(plain) and len(plain) == len(held)


def only_text(side: Side, section: str, block: Parameter | Table | Figure | Check) -> str:
    """Say a value, table, figure or check that only one side has."""
    match block:
        case Parameter():
            return f"“{block.title}” is {_value(side.policy, block)}"
        case Table():
            return f"“{block.title}” is {rows_text(block)}"
        case Figure():
            return figure_sentence(block)
        case Check():
            return f"the check “{block.title}”. {check_sentence(side.policy, block)}"
