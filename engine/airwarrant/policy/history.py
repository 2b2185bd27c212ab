"""Where a value of a policy comes from: every layer that set it, and who reads it."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from airwarrant.errors import Fault, PolicyError, nearest
from airwarrant.policy.model import Named, Policy
from airwarrant.policy.readers import readers_of
from airwarrant.policy.show_prices import book_blocks
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
    prices: tuple[str, ...]
    program: str


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
        settings.append(Setting(key, held.value, held.layer, effective_from(held.place), held.place, True))
        settings += [
            Setting(key, old.value, old.layer, effective_from(old.place), old.place, False)
            for old in reversed(held.overrode)
        ]
    return History(name, section, tuple(settings), **asdict(readers_of(policy, section, name)))


def blocks_of(policy: Policy) -> dict[str, Mapping[str, Named]]:
    """Return every named block of a policy by section; texts are none."""
    return {
        "parameter": policy.parameters,
        "table": policy.tables,
        "figure": policy.figures,
        "check": policy.checks,
        "rule": policy.rules,
        "task": policy.tasks,
        **book_blocks(policy.prices),
    }


def find(policy: Policy, name: str) -> tuple[str, Named | None]:
    """Return the section a name belongs to and its block; a text has none.

    Raises
    ------
    PolicyError
        ``unknown-name``.
    """
    sections = blocks_of(policy)
    wanted, _, bare = name.rpartition(":")
    for section, blocks in sections.items():
        if wanted in ("", section) and bare in blocks:
            return section, blocks[bare]
    if name in policy.said:
        return "said", None
    known = [n for blocks in sections.values() for n in blocks]
    found = f"the policy of market `{policy.market.name}` has nothing by the name `{name}`"
    raise PolicyError([Fault("unknown-name", found, advice=nearest(name, known))])


def effective_from(place: Place) -> str:
    """The date of a value is the name of its folder."""
    return place.file.rsplit("/", 2)[-2] if place.file.count("/") >= 2 else ""
