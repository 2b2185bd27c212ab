"""Random edits of a composed policy: of limits, rows, checks, rules, tasks and prices, as an owner might make them."""

import random
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from airwarrant.policy.model import CheckClause, Policy, Rule, Then

Edit = Callable[[Policy, random.Random], Policy]
_TIMES = (0.3, 0.5, 0.8, 0.9, 0.95, 0.99, 1.01, 1.05, 1.1, 1.25, 2.0, 4.0)
_WORDS = ("pass", "fail", "close", "unmeasured")
#: Never edited: the program refuses other values, or reads them in whole numbers.
_FIXED = ("rounds_most", "predict_draws", "predict_range")


def edited(policy: Policy, rng: random.Random, count: int = 1) -> tuple[Policy, tuple[str, ...]]:
    """The policy with `count` edits, and the names of the edits."""
    names = []
    for _ in range(count):
        edit = rng.choice(EDITS)
        policy = edit(policy, rng)
        names.append(edit.__name__)
    return replace(policy, digest=f"edited-{rng.random()}"), tuple(names)


def _with(policy: Policy, section: str, name: str, **changes: Any) -> Policy:
    held: Mapping[str, Any] = getattr(policy, section)
    return replace(policy, **{section: {**held, name: replace(held[name], **changes)}})


def parameter(policy: Policy, rng: random.Random) -> Policy:
    """One number otherwise."""
    names = [n for n, p in policy.parameters.items() if not isinstance(p.value, str) and p.value and n not in _FIXED]
    name = rng.choice(names)
    return _with(policy, "parameters", name, value=float(policy.parameters[name].value) * rng.choice(_TIMES))


def limit(policy: Policy, rng: random.Random) -> Policy:
    """One number that is a limit, a little otherwise."""
    names = sorted(
        {
            ref.name
            for c in policy.checks.values()
            for ref in (c.times, *(part for one in c.limits for part in (one.of, one.less, one.more)))
            if ref is not None and ref.form == "parameter"
        }
        & {n for n, p in policy.parameters.items() if p.value}
    )
    name = rng.choice(names)
    return _with(policy, "parameters", name, value=float(policy.parameters[name].value) * rng.uniform(0.7, 1.4))


def row(policy: Policy, rng: random.Random) -> Policy:
    """One row of a table otherwise."""
    names = [n for n, t in policy.tables.items() if t.rows]
    name = rng.choice(names)
    rows = list(policy.tables[name].rows)
    at = rng.randrange(len(rows))
    rows[at] = (rows[at][0], rows[at][1] * rng.choice(_TIMES))
    return _with(policy, "tables", name, rows=tuple(rows))


def rows(policy: Policy, rng: random.Random) -> Policy:
    """A table with a row less."""
    name = rng.choice([n for n, t in policy.tables.items() if len(t.rows) > 1])
    held = list(policy.tables[name].rows)
    del held[rng.randrange(len(held))]
    return _with(policy, "tables", name, rows=tuple(held))


def check(policy: Policy, rng: random.Random) -> Policy:
    """A check judged otherwise."""
    name = rng.choice(sorted(policy.checks))
    held = policy.checks[name]
    turned = {"at most": "below", "below": "at least", "at least": "above", "above": "at most"}
    changes: tuple[dict[str, Any], ...] = (
        {"must_be": turned[held.must_be]},
        {"doubt": rng.choice([word for word in ("retest", "against", "ignore") if word != held.doubt])},
        {"needs": () if held.needs else ("measured",)},
    )
    return _with(policy, "checks", name, **rng.choice(changes))


def new_check(policy: Policy, rng: random.Random) -> Policy:
    """A check that no rule reads: another turned round, or of another number."""
    one = policy.checks[rng.choice(sorted(policy.checks))]
    turned = {"at most": "above", "below": "at least", "at least": "below", "above": "at most"}
    made = replace(one, name="test-new", must_be=turned[one.must_be], acceptance=one.acceptance and rng.random() < 0.5)
    return replace(policy, checks=dict(sorted({**policy.checks, made.name: made}.items())))


def of_the_house(policy: Policy, rng: random.Random) -> Policy:
    """A check of a kind, and the rules that read it, judged of the house."""
    whole = {c.name for c in policy.checks.values() if c.reading.form == "field" and c.each != "house"}
    reading = {
        name: {c.check for c in (*r.when, *r.any, *r.unless) if isinstance(c, CheckClause)} & whole
        for name, r in policy.rules.items()
        if any(then.what == "stop" for then in r.then) or all(then.what == "caution" for then in r.then)
    }
    name = rng.choice(sorted(n for n, checks in reading.items() if checks))
    moved = sorted(reading[name])[0]
    house = policy.checks[rng.choice([n for n, c in sorted(policy.checks.items()) if c.each == "house"])]
    check = replace(policy.checks[moved], each="house", reading=house.reading, limits=house.limits, times=house.times)
    rule = replace(policy.rules[name], each="house", where=())
    return replace(policy, checks={**policy.checks, moved: check}, rules={**policy.rules, name: rule})


def less_of_a_rule(policy: Policy, rng: random.Random) -> Policy:
    """A rule without one of its clauses."""
    name = rng.choice([n for n, r in policy.rules.items() if len(r.when) + len(r.unless) > 0])
    held = policy.rules[name]
    part = rng.choice([part for part in ("when", "unless") if getattr(held, part)])
    clauses = list(getattr(held, part))
    del clauses[rng.randrange(len(clauses))]
    return _with(policy, "rules", name, **{part: tuple(clauses)})


def words_of_a_rule(policy: Policy, rng: random.Random) -> Policy:
    """A rule that asks a check for other words."""
    names = [n for n, r in policy.rules.items() if any(isinstance(c, CheckClause) for c in r.when)]
    name = rng.choice(names)
    clauses = list(policy.rules[name].when)
    at = rng.choice([at for at, clause in enumerate(clauses) if isinstance(clause, CheckClause)])
    clauses[at] = replace(clauses[at], is_=tuple(rng.sample(_WORDS, rng.choice((1, 1, 2)))))
    return _with(policy, "rules", name, when=tuple(clauses))


def no_rule(policy: Policy, rng: random.Random) -> Policy:
    """A policy without one of its rules."""
    name = rng.choice(sorted(policy.rules))
    return replace(policy, rules={n: r for n, r in policy.rules.items() if n != name})


def new_rule(policy: Policy, rng: random.Random) -> Policy:
    """A rule that asks for the line of one where another asks for its own."""
    asking = [r for r in policy.rules.values() if any(t.what in ("line", "decline", "hold") for t in r.then)]
    one = rng.choice(asking)
    # A line stands at what its task is sized by: of another kind a policy check refuses it.
    other = rng.choice([r for r in asking if r.each == one.each])
    then = tuple(t for t in other.then if t.what in ("line", "decline", "hold") and not t.at)
    made: Rule = replace(one, name="test.new", then=then or one.then)
    return replace(policy, rules=dict(sorted({**policy.rules, made.name: made}.items())))


def conclusion(policy: Policy, rng: random.Random) -> Policy:
    """A rule with another tier, or that declines what it asked for."""
    name = rng.choice([n for n, r in policy.rules.items() if any(t.what == "line" for t in r.then)])
    held = policy.rules[name]

    def turned(then: Then) -> Then:
        if then.what != "line":
            return then
        if rng.random() < 0.5:
            return replace(
                then, tier=rng.choice([t for t in ("required", "recommended", "optional") if t != then.tier])
            )
        return Then("decline", f"task:{then.name}", text="not wanted")

    return _with(policy, "rules", name, then=tuple(turned(then) for then in held.then))


def task(policy: Policy, rng: random.Random) -> Policy:
    """A task in no group, without its needs, or that must not gain."""
    name = rng.choice(sorted(policy.tasks))
    held = policy.tasks[name]
    changes: tuple[dict[str, Any], ...] = (
        {"groups": ()},
        {"needs": ()},
        {"must_gain": not held.must_gain},
        {"unit_off": True},
    )
    return _with(policy, "tasks", name, **rng.choice(changes))


def price(policy: Policy, rng: random.Random) -> Policy:
    """A wage, the cost of an item, hours, a factor or a charge otherwise."""
    book = policy.prices
    assert book is not None
    times = Decimal(str(rng.choice(_TIMES)))
    what = rng.choice(("crews", "items", "prices", "factors", "charges"))
    held = dict(getattr(book, what))
    name = rng.choice(sorted(held))
    one = held[name]
    match what:
        case "crews":
            one = replace(one, wage=one.wage * times)
        case "items":
            rows = tuple((size, cost * times) for size, cost in one.rows)
            one = replace(one, cost=None if one.cost is None else one.cost * times, rows=rows)
        case "prices":
            one = replace(one, work=replace(one.work, hours=one.work.hours * times))
        case "factors":
            one = replace(one, value=one.value * times)
        case _:
            one = replace(one, share=min(one.share * times, Decimal(100)), cost=one.cost * times)
    return replace(policy, prices=replace(book, **{what: {**held, name: one}}))


EDITS: tuple[Edit, ...] = (
    parameter, limit, limit, limit, row, row, rows, check, new_check, of_the_house,
    less_of_a_rule, words_of_a_rule, no_rule, new_rule, conclusion, task, price,
)  # fmt: skip
