"""Rules said back as sentences: if the sentence reads wrong, the rule is wrong."""

from collections.abc import Iterable

from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.policy.model import (
    CarriedClause,
    Check,
    CheckClause,
    Clause,
    FactClause,
    FindingClause,
    Limit,
    LineClause,
    ManyClause,
    Policy,
    Ref,
    Rule,
    Then,
    WhereClause,
    Words,
)
from airwarrant.policy.show_values import value_text

_WHEN = {"before-sale": "before the sale", "during-work": "during the work", "at-test-out": "at test-out"}
_CHOICE = {"limit": "", "strictest_limit": "the strictest of ", "loosest_limit": "the loosest of "}


def rule_sentence(policy: Policy, rule: Rule) -> str:
    """Say a rule in plain English."""
    whose = f" whose {where_text(rule.where)}" if rule.where else ""
    head = (
        f"For the house{',' + whose if whose else ''}:" if rule.each == HOUSE_KEY else f"For each {rule.each}{whose}:"
    )
    parts = []
    if rule.when:
        parts.append("when " + ", and ".join(clause_sentence(policy, rule, c) for c in rule.when))
    if rule.any:
        one = "; or ".join(clause_sentence(policy, rule, c) for c in rule.any)
        parts.append(f"{'and' if rule.when else 'when'} at least one of these holds: {one}")
    if rule.unless:
        parts.append("unless " + ", or ".join(clause_sentence(policy, rule, c) for c in rule.unless))
    if not parts:
        parts.append("always")
    then = "; and ".join(then_sentence(policy, rule, t) for t in rule.then)
    return f"{head} {', '.join(parts)}, then {then}."


def clause_sentence(policy: Policy, rule: Rule, clause: Clause) -> str:
    """Say one clause of a rule in plain English."""
    match clause:
        case WhereClause():
            return f"its {where_text(clause.where)}"
        case CheckClause():
            said = f"check {_check(policy, clause.check)}{_at(clause.target, rule, 'of')}{_time(clause.time)}"
            return f"{said} says {_either(clause.is_)}"
        case FindingClause():
            return f"the finding {clause.finding} stands{_at(clause.target, rule, 'at')}"
        case LineClause():
            return f"the line {clause.task} is asked for{_at(clause.target, rule, 'at')}"
        case CarriedClause():
            return f"the task {clause.task} was scoped in the round before"
        case ManyClause():
            return _many(policy, clause)
        case FactClause():
            same = [f"{its} is {_mine(mine, rule)}" for its, mine in clause.same]
            tests = [*same, where_text(clause.where)] if clause.where else same
            return f"there is a {clause.kind}" + (f" whose {' and '.join(tests)}" if tests else "")


def then_sentence(policy: Policy, rule: Rule, then: Then) -> str:
    """Say one conclusion in plain English."""
    at = f" at its {then.at}" if then.at else ""
    when = f", {_WHEN[then.when]}" if then.when else ""
    match then.what:
        case "finding":
            return f"the finding {then.name} stands{at}"
        case "line":
            return f"the line {then.name} is {then.tier}{at}"
        case "decline":
            return f"{_named(then.name)} declined: “{then.text}”"
        case "hold":
            named = f" (a hold named {then.named})" if then.named else ""
            return f"{_named(then.name)} held until “{then.text}”{named}{when}"
        case "lift":
            of = "" if not then.of else " of the house" if then.of == HOUSE_KEY else f" of its {then.of}"
            return f"the hold {then.name}{of} is lifted for the task {then.for_}: “{then.text}”"
        case "retest":
            return f"the reading {then.name} is taken again: “{then.text}”{when}"
        case "stop":
            return f"the job stops: {then.name}"
        case "caution":
            return f"the caution {then.name} is given"
        case "target":
            gate = " and hand-over waits for it" if then.gate else ""
            return f"check {_check(policy, then.name)} is a target at test-out{gate}"
        case _:
            to = ref_text(policy, then.to) if then.to else "?"
            return f"the ± of the reading {then.name} is at least {to} of it"


def check_sentence(policy: Policy, check: Check) -> str:
    """Say a check in plain English."""
    subject = "the house" if check.each == HOUSE_KEY else f"each {check.each}"
    limits = ", ".join(_limit(policy, limit) for limit in check.limits)
    times = f", times {ref_text(policy, check.times)}" if check.times else ""
    needs = f" It needs a reading that is {_either(check.needs)}." if check.needs else ""
    doubt = {
        "retest": "Inside the reading's ± it says close.",
        "against": "Inside the reading's ± it says fail.",
        "ignore": "The reading's ± is left aside.",
    }[check.doubt]
    reading = ref_text(policy, check.reading)
    return f"For {subject}: {reading} must be {check.must_be} {_CHOICE[check.choose]}{limits}{times}.{needs} {doubt}"


def ref_text(policy: Policy, ref: Ref) -> str:
    """Say a reference with the value it has in this policy."""
    match ref.form:
        case "parameter":
            parameter = policy.parameters[ref.name]
            return f"{ref.name} ({value_text(parameter.value, parameter.unit, policy.market.currency)})"
        case "table":
            return f"{ref.name} (by {policy.tables[ref.name].by})"
        case "house":
            return f"the house's {ref.name}"
        case _:
            return ref.name


def _limit(policy: Policy, limit: Limit) -> str:
    text = ref_text(policy, limit.of)
    if limit.less:
        text += f" less {ref_text(policy, limit.less)}"
    if limit.more:
        text += f" and {ref_text(policy, limit.more)} more"
    return text


def _many(policy: Policy, clause: ManyClause) -> str:
    whose = f" whose {where_text(clause.where)}" if clause.where else ""
    start = {"some": f"for some {clause.kind}", "every": f"for every {clause.kind}", "none": f"for no {clause.kind}"}
    head = start[clause.quantifier] + whose
    if clause.check:
        return f"{head} check {_check(policy, clause.check)}{_time(clause.time)} says {_either(clause.is_)}"
    if clause.finding:
        return f"{head} the finding {clause.finding} stands"
    if clause.line:
        return f"{head} the line {clause.line} is asked for"
    is_there = {"some": "there is some", "every": "there is, of every kind,", "none": "there is no"}[clause.quantifier]
    return f"{is_there} {clause.kind}{whose}"


def where_text(words: Words) -> str:
    """Say which words a record must have."""
    return " and ".join(f"{name} is {_either(closed)}" for name, closed in words)


def _either(words: Iterable[str]) -> str:
    return " or ".join(words)


def _check(policy: Policy, name: str) -> str:
    return f"“{policy.checks[name].title}”"


def _at(target: str, rule: Rule, word: str) -> str:
    if target == "own":
        return "" if rule.each == HOUSE_KEY or word == "of" else f" {word} it"
    if target == HOUSE_KEY:
        return "" if rule.each == HOUSE_KEY else f" {word} the house"
    return f" {word} its {target}"


def _time(time: str) -> str:
    return {"found": "", "predicted": ", on what is predicted,", "test-out": ", at test-out,"}[time]


def _mine(field: str, rule: Rule) -> str:
    return f"this {rule.each}" if field == "id" else f"its {field}"


def _named(name: str) -> str:
    what, _, which = name.partition(":")
    if what == "task":
        return f"the task {which} is"
    return f"every task of the group {which} is" if what == "group" else "the proposal is"
