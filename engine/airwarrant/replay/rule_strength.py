"""Whether one rule speaks at least wherever another does, and says at least as much."""

from collections.abc import Iterator, Sequence

from airwarrant.policy.model import (
    TIERS,
    CheckClause,
    Clause,
    FactClause,
    ManyClause,
    Rule,
    Then,
    WhereClause,
    Words,
)
from airwarrant.replay.heard import Strength, rule_lifts, worst

#: The earlier something has to be done, the stricter.
_WHENS = ("before-sale", "during-work", "at-test-out")


def rule_beside(old: Rule, new: Rule | None) -> tuple[Strength, str]:
    """How strict a rule is beside what it was, and what of it is otherwise; ``None`` stands for a rule that is gone."""
    lifts = all(then.what == "lift" for then in old.then)
    if new is None:
        if lifts:
            return "strict", ""
        return ("unclear", "is gone, and with it what it lifted") if rule_lifts(old) else ("looser", "is gone")
    found = [*_conclusions(old, new), _conditions(old, new, lifts)]
    if new.authority != old.authority and not lifts:
        found.append(("looser", f"speaks with the authority of {new.authority} and no longer of {old.authority}"))
    strength = worst(one for one, _ in found)
    return strength, next((how for one, how in found if one == strength), "")


def _conditions(old: Rule, new: Rule, lifts: bool) -> tuple[Strength, str]:
    if old.each != new.each:
        return "unclear", "is of another kind of thing"
    wider, narrower = _speaks_wherever(new, old), _speaks_wherever(old, new)
    if wider and narrower:
        return "strict", ""
    if lifts:
        wider, narrower = narrower, wider
    elif rule_lifts(old):
        wider = narrower = False
    if wider:
        return "strict", ""
    return ("looser", _asks_more(lifts)) if narrower else ("unclear", "reads otherwise")


def _asks_more(lifts: bool) -> str:
    return "lifts in more cases" if lifts else "asks for more before it speaks"


def _speaks_wherever(rule: Rule, other: Rule) -> bool:
    """Whether `rule` can be shown to speak wherever `other` does."""
    given = (*other.when, WhereClause(other.where))
    return (
        _words_within(other.where, rule.where)
        and all(any(_implies(known, clause) for known in given) for clause in rule.when)
        and _any_holds(rule.any, other.any, given)
        and all(any(_implies(clause, known) for known in other.unless) for clause in rule.unless)
    )


def _any_holds(wanted: Sequence[Clause], known: Sequence[Clause], given: Sequence[Clause]) -> bool:
    """Whether one of `wanted` holds wherever one of `known`, and all that is given, holds."""
    if not wanted or any(_implies(one, clause) for one in given for clause in wanted):
        return True
    return bool(known) and all(any(_implies(one, clause) for clause in wanted) for one in known)


def _implies(one: Clause, other: Clause) -> bool:
    """Whether a clause can be shown to hold wherever another does."""
    if one == other:
        return True
    match one, other:
        case CheckClause(), CheckClause():
            same = (one.check, one.time, one.target) == (other.check, other.time, other.target)
            return same and set(one.is_) <= set(other.is_)
        case WhereClause(), WhereClause():
            return _words_within(one.where, other.where)
        case FactClause(), FactClause():
            same = one.kind == other.kind and set(other.same) <= set(one.same)
            return same and _words_within(one.where, other.where)
        case ManyClause(), ManyClause():
            return _many_implies(one, other)
        case _:
            return False


def _many_implies(one: ManyClause, other: ManyClause) -> bool:
    def asked(clause: ManyClause) -> tuple[str, ...]:
        return clause.quantifier, clause.kind, clause.check, clause.time, clause.finding, clause.line

    if asked(one) != asked(other):
        return False
    tests = set(one.is_) <= set(other.is_), _words_within(one.where, other.where)
    turned = set(other.is_) <= set(one.is_), _words_within(other.where, one.where)
    match one.quantifier:
        case "some":
            return all(tests)
        case "none":
            return all(turned)
        case _:
            return tests[0] and turned[1]


def _words_within(one: Words, other: Words) -> bool:
    """Whether whatever has the words of `one` has those of `other`."""
    held = dict(one)
    return all(name in held and set(held[name]) <= set(words) for name, words in other)


def _conclusions(old: Rule, new: Rule) -> Iterator[tuple[Strength, str]]:
    for then in old.then:
        if then.what != "lift" and not any(_as_much(then, other) for other in new.then):
            yield "looser", f"no longer says the {then.what} {then.name}" + (f", {then.tier}" if then.tier else "")
    for then in new.then:
        if then.what == "lift" and not any(_lifts_no_more(then, other) for other in old.then):
            yield "looser", f"lifts {then.name} for {then.for_}, which it did not"


def _as_much(then: Then, other: Then) -> bool:
    """Whether the second conclusion says at least what the first does."""
    if (then.what, then.name, then.at, then.named) != (other.what, other.name, other.at, other.named):
        return False
    tiers = _place(other.tier, TIERS) <= _place(then.tier, TIERS)
    return tiers and not later(then.when, other.when) and other.gate >= then.gate and _same_widening(then, other)


def later(before: str, after: str) -> bool:
    """Whether something waits longer: until the work, or the test-out."""
    return _place(after, _WHENS) > _place(before, _WHENS)


def _same_widening(then: Then, other: Then) -> bool:
    if then.to is None or other.to is None or then.to == other.to:
        return then.to is None or other.to is not None
    quantities = then.to.form == other.to.form == "quantity" and then.to.unit == other.to.unit
    return quantities and other.to.value >= then.to.value


def _place(word: str, of: Sequence[str]) -> int:
    return of.index(word) if word in of else 0


def _lifts_no_more(then: Then, other: Then) -> bool:
    same = other.what == "lift" and (then.name, then.for_) == (other.name, other.for_)
    return same and other.of in ("", then.of)
