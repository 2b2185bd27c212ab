"""Which words of a check make a rule speak, and what of that is lost when the check judges otherwise."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Literal

from airwarrant.calculations.verdict import compare
from airwarrant.policy.model import Check, CheckClause, Clause, ManyClause, Policy, Rule
from airwarrant.replay.layout import WORDS
from airwarrant.replay.slopes import Slope

#: ``strict``: nothing is lost. ``looser``: of some reading a rule no longer speaks. ``unclear``: one speaks no longer and another
#: does instead, or which way a number goes is not known.
Strength = Literal["strict", "unclear", "looser"]
_RANK: tuple[Strength, ...] = ("strict", "unclear", "looser")

#: One limit stands for all, at nothing; readings on either side of it, a ± and distances by which it may move stand for any.
_UNIT, _LIMIT, _BAND = "Pa", 0.0, 2.0
_READINGS = tuple(0.5 * step for step in range(-24, 25))
_MOVED = (0.5, 1.0, 3.0, 8.0)
_OTHER_STATE = "in another state"


def worst(several: Iterable[Strength]) -> Strength:
    """The least strict of several."""
    return max(several, key=_RANK.index, default="strict")


@dataclass(frozen=True, slots=True)
class Heard:
    """A rule, and the words of one check of which it speaks."""

    rule: str
    words: frozenset[str]


def heard(policy: Policy, rules: Iterable[tuple[Rule, int]], check: Check) -> tuple[Heard, ...]:
    """What rules hear of a check; each comes with 1 where it is safer that it speaks, -1 where it is safer that it does not.

    Of rules that hear the one that fails and the other that passes, only those on the side are counted that the limit's own
    policy calls safer.
    """
    found = []
    for rule, sign in rules:
        for words in _words(rule, check.name):
            if rule_lifts(rule) and not all(then.what == "lift" for then in rule.then):
                found += [Heard(rule.name, words), Heard(rule.name, _others(words))]
            else:
                found.append(Heard(rule.name, words if sign > 0 and not rule_lifts(rule) else _others(words)))
    side = _safe_word(policy, check)
    wrong = {"fail": "pass", "pass": "fail"}.get(side, "")
    return tuple(one for one in found if not (wrong in one.words and side not in one.words))


def rule_lifts(rule: Rule) -> bool:
    """Whether a rule frees what another holds."""
    return any(then.what == "lift" for then in rule.then)


def _words(rule: Rule, check: str) -> Iterator[frozenset[str]]:
    """The words of which a rule speaks, by time and place it asks; all else it asks for is taken to hold."""
    asked = {_asked(clause) for part in (rule.when, rule.any, rule.unless) for clause in part if _of(clause, check)}
    for one in sorted(asked):
        when, any_, unless = (
            [_said(clause) for clause in part if _of(clause, check) and _asked(clause) == one]
            for part in (rule.when, rule.any, rule.unless)
        )
        speaks = [word for word in WORDS if all(word in said for said in when) and not any(word in u for u in unless)]
        words = frozenset(word for word in speaks if not any_ or any(word in said for said in any_))
        if 0 < len(words) < len(WORDS):
            yield words
    if any(then.what == "target" and then.name == check for then in rule.then):
        yield _others(frozenset({"pass"}))


def _of(clause: Clause, check: str) -> bool:
    return isinstance(clause, CheckClause | ManyClause) and clause.check == check


def _asked(clause: Clause) -> tuple[str, str]:
    assert isinstance(clause, CheckClause | ManyClause)
    return clause.time, clause.target if isinstance(clause, CheckClause) else clause.kind


def _said(clause: Clause) -> frozenset[str]:
    assert isinstance(clause, CheckClause | ManyClause)
    words = frozenset(clause.is_)
    return _others(words) if isinstance(clause, ManyClause) and clause.quantifier == "none" else words


def _others(words: frozenset[str]) -> frozenset[str]:
    return frozenset(WORDS) - words


def _safe_word(policy: Policy, check: Check) -> str:
    """The word that comes more often as a limit moves to its safer side; empty where no limit says which that is."""
    sides = set()
    for limit in check.limits:
        block = policy.parameters.get(limit.of.name) or policy.tables.get(limit.of.name)
        if limit.of.form in ("parameter", "table") and block is not None and block.safer:
            tightens = (block.safer == "lower") == (check.must_be in ("at most", "below"))
            sides.add("fail" if tightens else "pass")
    return sides.pop() if len(sides) == 1 else ""


def judged_again(
    old: Check,
    new: Check,
    by: Sequence[Heard],
    margin: Slope = 0,
    band: Slope = 0,
    answered: tuple[bool, bool] = (True, True),
) -> tuple[Strength, str]:
    """How strict a check is beside what it was, and the rule that speaks less.

    Parameters
    ----------
    old, new : Check
        Their sense, doubt and needs are compared; where they have no limit in common, `margin` says how it moved.
    by : sequence of Heard
    margin, band : Slope
        Which way the distance of a reading above its limit, and its ±, have moved; None where that is not known.
    answered : (bool, bool)
        Whether there was a limit before, and is now.
    """
    found = []
    for up, wider in product(_either(margin), _either(band)):
        found.append(_one_way(old, new, by, up, wider, answered))
    strengths = {strength for strength, _ in found}
    rule = next((rule for strength, rule in found if strength != "strict"), "")
    return (strengths.pop(), rule) if len(strengths) == 1 else ("unclear", rule)


def _either(slope: Slope) -> tuple[int, ...]:
    return (-1, 1) if slope is None else (slope,)


def _one_way(
    old: Check, new: Check, by: Sequence[Heard], up: int, wider: int, answered: tuple[bool, bool]
) -> tuple[Strength, str]:
    strength: Strength = "strict"
    loser = ""
    states = {*old.needs, *new.needs, _OTHER_STATE}
    for value, state, away, band in product(_READINGS, sorted(states), _MOVED if up else (0.0,), _bands(wider)):
        before = _word(old, value, band[0], state, answered[0])
        after = _word(new, value + up * away, band[1], state, answered[1])
        if before == after:
            continue
        lost = [one.rule for one in by if before in one.words and after not in one.words]
        if not lost:
            continue
        won = any(after in one.words and before not in one.words for one in by)
        now: Strength = "unclear" if won else "looser"
        if now == "unclear" or strength == "strict":
            strength, loser = now, lost[0]
        if now == "unclear":
            break
    return strength, loser


def _bands(wider: int) -> tuple[tuple[float, float], ...]:
    if wider == 0:
        return ((0.0, 0.0), (_BAND, _BAND))
    pairs = ((0.0, _BAND), (_BAND, 2.0 * _BAND))
    return pairs if wider > 0 else tuple((after, before) for before, after in pairs)


def _word(check: Check, value: float, band: float, state: str, answered: bool) -> str:
    if not answered or (check.needs and state not in check.needs):
        return "unmeasured"
    return compare(value, _LIMIT, check.must_be, band, _UNIT, check.doubt)
