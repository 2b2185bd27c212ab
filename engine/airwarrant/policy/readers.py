"""Who reads a name of a policy: the figures, checks, rules, tasks and prices that change with it."""

from dataclasses import dataclass

from airwarrant.policy.model import (
    CarriedClause,
    CheckClause,
    Clause,
    LineClause,
    ManyClause,
    Policy,
    Rule,
    Task,
)
from airwarrant.policy.prices import NEEDED
from airwarrant.policy.rests_on import Key, below, check_refs, parts_of
from airwarrant.policy.show_prices import charges_reading, readers
from airwarrant.policy.sizes import size_refs
from airwarrant.policy.steering import ASSUMED, STEERING


@dataclass(frozen=True, slots=True)
class Readers:
    """Names of what reads a block, each in the order of the policy; also through figures and the tables that these ask.

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
    block = (section, name)
    figures = tuple(sorted(n for n in policy.figures if block in below(policy, parts_of(policy, ("figure", n)))))
    checks = tuple(n for n, check in policy.checks.items() if block in below(policy, check_refs(check)))
    asked = {*checks, *((name,) if section == "check" else ())}
    task = name if section == "task" else ""
    return Readers(
        figures,
        checks,
        tuple(n for n, rule in policy.rules.items() if _rule_reads(rule, block, asked, task)),
        tuple(
            n
            for n, other in policy.tasks.items()
            if block in below(policy, size_refs(other)) or _task_names(other, task)
        ),
        _prices(policy, section, name),
        _program(name) if section == "parameter" else "",
    )


def _rule_reads(rule: Rule, block: Key, checks: set[str], task: str) -> bool:
    return any(_clause_reads(clause, checks, task) for clause in (*rule.when, *rule.any, *rule.unless)) or any(
        (then.to is not None and (then.to.form, then.to.name) == block)
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


def _task_names(other: Task, task: str) -> bool:
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
