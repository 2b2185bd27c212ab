"""Where a value of a policy comes from: every layer that set it, and who reads it."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from airwarrant.errors import Fault, PolicyError, nearest
from airwarrant.policy.checks import limit_refs
from airwarrant.policy.model import Check, CheckClause, Clause, Figure, ManyClause, Named, Policy, Ref
from airwarrant.policy.show_prices import book_blocks, readers
from airwarrant.policy.sizes import size_refs
from airwarrant.source.place import Place

#: Keys whose history is the value's own; they come first.
_FIRST = ("value", "rows")


@dataclass(frozen=True, slots=True)
class Setting:
    """One layer's say on one key of a block; `in_force` is False for what a later layer replaced."""

    key: str
    value: Any
    layer: str
    effective: str
    place: Place
    in_force: bool


@dataclass(frozen=True, slots=True)
class History:
    """A named block with the history of each of its keys and what reads it."""

    name: str
    section: str
    settings: tuple[Setting, ...]
    figures: tuple[str, ...]
    checks: tuple[str, ...]
    rules: tuple[str, ...]
    tasks: tuple[str, ...]


def history(policy: Policy, name: str) -> History:
    """Tell where a parameter, table, figure, check, rule, task, text or block of the price book comes from.

    A price has the name of its task: ``price:add-return`` is the price, ``add-return`` the task.

    Raises
    ------
    PolicyError
        If the policy has nothing of that name; with the nearest one that it has.
    """
    section, block = find(policy, name)
    name = block.name if block is not None else name
    keys = policy.said[name] if block is None else block.keys
    order = sorted(keys, key=lambda key: (key not in _FIRST, key))
    settings = []
    for key in order:
        held = keys[key]
        settings.append(Setting(key, held.value, held.layer, _effective(held.place), held.place, True))
        settings += [
            Setting(key, old.value, old.layer, _effective(old.place), old.place, False)
            for old in reversed(held.overrode)
        ]
    figures = _figures_reading(policy, name)
    checks = tuple(n for n, check in policy.checks.items() if n != name and _reads(check, {name, *figures}))
    asked = {name, *checks} if section != "rule" else set()
    rules = tuple(
        n
        for n, rule in policy.rules.items()
        if any(_check_of(c) in asked for c in (*rule.when, *rule.any, *rule.unless))
        or any(then.to is not None and then.to.name == name for then in rule.then)
        or any(then.what == "target" and then.name in asked for then in rule.then)
    )
    sizing = {name, *figures}
    tasks = tuple(n for n, task in policy.tasks.items() if any(ref.name in sizing for ref in size_refs(task)))
    tasks += readers(policy.prices, section, name) if section in ("crew", "item", "factor") else ()
    return History(name, section, tuple(settings), figures, checks, rules, tasks)


def find(policy: Policy, name: str) -> tuple[str, Named | None]:
    """Return the section a name belongs to and its block; a text has none.

    Raises
    ------
    PolicyError
        ``unknown-name``.
    """
    sections: dict[str, Any] = {
        "parameter": policy.parameters,
        "table": policy.tables,
        "figure": policy.figures,
        "check": policy.checks,
        "rule": policy.rules,
        "task": policy.tasks,
        **book_blocks(policy.prices),
    }
    wanted, _, bare = name.rpartition(":")
    for section, blocks in sections.items():
        if wanted in ("", section) and bare in blocks:
            return section, blocks[bare]
    if name in policy.said:
        return "said", None
    known = [n for blocks in sections.values() for n in blocks]
    found = f"the policy of market `{policy.market.name}` has nothing by the name `{name}`"
    raise PolicyError([Fault("unknown-name", found, advice=nearest(name, known))])


def _effective(place: Place) -> str:
    """The date of a value is the name of its folder."""
    return place.file.rsplit("/", 2)[-2] if place.file.count("/") >= 2 else ""


def _figures_reading(policy: Policy, name: str) -> tuple[str, ...]:
    found: set[str] = set()
    while True:
        more = {n for n, f in policy.figures.items() if n not in found and _makes(f, {name, *found})}
        if not more:
            return tuple(sorted(found))
        found |= more


def _makes(figure: Figure, names: set[str]) -> bool:
    return any(ref.name in names for ref in figure.refs)


def _reads(check: Check, names: set[str]) -> bool:
    refs: Iterable[Ref] = (check.reading, *(ref for limit in check.limits for ref in limit_refs(limit)))
    return any(ref.name in names for ref in refs) or (check.times is not None and check.times.name in names)


def _check_of(clause: Clause) -> str:
    return clause.check if isinstance(clause, CheckClause | ManyClause) else ""
