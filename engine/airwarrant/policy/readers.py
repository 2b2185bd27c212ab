"""Who reads a name of a policy: the figures, checks, rules, tasks and prices that change with it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from airwarrant.policy.checks import limit_refs
from airwarrant.policy.model import (
    CarriedClause,
    Check,
    CheckClause,
    Clause,
    LineClause,
    ManyClause,
    Policy,
    Ref,
    Rule,
    Task,
)
from airwarrant.policy.prices import NEEDED
from airwarrant.policy.show_prices import charges_reading, readers
from airwarrant.policy.sizes import size_refs
from airwarrant.policy.steering import ASSUMED, STEERING

#: Forms in which a reference may name a block of a section.
_FORMS: Mapping[str, tuple[str, ...]] = {
    "parameter": ("parameter",),
    "table": ("table",),
    "figure": ("figure", "house"),
}


@dataclass(frozen=True, slots=True)
class Readers:
    """Names of what reads a block, each in the order of the policy; `figures` also through other figures.

    `program` says, where the program itself reads the value, for what: ``every evaluation`` or ``the prediction``.
    """

    figures: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()
    tasks: tuple[str, ...] = ()
    prices: tuple[str, ...] = ()
    program: str = ""


def readers_of(policy: Policy, section: str, name: str) -> Readers:
    """Return who reads the block `name` of a section.

    A check is read by the rules that ask for its word, a task by the rules that bring it in or ask for it and by the tasks
    that come after it or need it.
    """
    figures = _figures(policy, section, name)
    values = {(form, name) for form in _FORMS.get(section, ())} | {
        (form, n) for n in figures for form in _FORMS["figure"]
    }
    checks = tuple(n for n, check in policy.checks.items() if any(_key(ref) in values for ref in _check_refs(check)))
    asked = {*checks, *((name,) if section == "check" else ())}
    task = name if section == "task" else ""
    return Readers(
        figures,
        checks,
        tuple(n for n, rule in policy.rules.items() if _rule_reads(rule, values, asked, task)),
        tuple(n for n, other in policy.tasks.items() if _task_reads(other, values, task)),
        _prices(policy, section, name),
        _program(name) if section == "parameter" else "",
    )


def _figures(policy: Policy, section: str, name: str) -> tuple[str, ...]:
    wanted = {(form, name) for form in _FORMS.get(section, ())}
    found: set[str] = set()
    while wanted:
        more = {n for n, f in policy.figures.items() if n not in found and any(_key(ref) in wanted for ref in f.refs)}
        found |= more
        wanted = {(form, n) for n in more for form in _FORMS["figure"]}
    return tuple(sorted(found))


def _key(ref: Ref) -> tuple[str, str]:
    return ref.form, ref.name


def _check_refs(check: Check) -> Iterable[Ref]:
    yield check.reading
    for limit in check.limits:
        yield from limit_refs(limit)
    if check.times is not None:
        yield check.times


def _rule_reads(rule: Rule, values: set[tuple[str, str]], checks: set[str], task: str) -> bool:
    return any(_clause_reads(clause, checks, task) for clause in (*rule.when, *rule.any, *rule.unless)) or any(
        (then.to is not None and _key(then.to) in values)
        or (then.what == "target" and then.name in checks)
        or (
            task != ""
            and (then.for_ == task or (then.name == task and then.what == "line") or then.name == f"task:{task}")
        )
        for then in rule.then
    )


def _clause_reads(clause: Clause, checks: set[str], task: str) -> bool:
    match clause:
        case CheckClause():
            return clause.check in checks
        case ManyClause():
            return clause.check in checks or (task != "" and clause.line == task)
        case LineClause() | CarriedClause():
            return clause.task == task
        case _:
            return False


def _task_reads(other: Task, values: set[tuple[str, str]], task: str) -> bool:
    if any(_key(ref) in values for ref in size_refs(other)):
        return True
    return task != "" and (task in other.after or any(need.task == task for need in other.needs))


def _prices(policy: Policy, section: str, name: str) -> tuple[str, ...]:
    if policy.prices is None:
        return ()
    if section == "parameter" and name in NEEDED:
        return tuple(policy.prices.prices)
    if section not in ("crew", "item", "factor"):
        return ()
    return (*readers(policy.prices, section, name), *charges_reading(policy.prices, section, name))


def _program(name: str) -> str:
    if name in STEERING:
        return "every evaluation"
    return "the prediction" if name.startswith(ASSUMED) else ""
