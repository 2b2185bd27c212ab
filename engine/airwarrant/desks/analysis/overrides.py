"""Overrides that set what stood there already: they look like a choice of the layer and are none."""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from airwarrant.errors import Fault
from airwarrant.policy.faults import shown
from airwarrant.policy.model import Overridden, Policy, Sourced
from airwarrant.policy.show_prices import book_blocks


def same_overrides(policy: Policy) -> Iterator[Fault]:
    """Yield a warning for each block of which a layer sets only what stood there."""
    sections: dict[str, Mapping[str, Any]] = {
        "parameter": policy.parameters,
        "table": policy.tables,
        "figure": policy.figures,
        "check": policy.checks,
        "rule": policy.rules,
        "task": policy.tasks,
        **book_blocks(policy.prices),
    }
    for section, blocks in sections.items():
        for name, block in blocks.items():
            yield from _of_block(section, name, block.keys, block.layer)
    for name, texts in policy.said.items():
        yield from _of_block("said", name, texts, _first(policy, texts))


def _first(policy: Policy, texts: Mapping[str, Sourced]) -> str:
    """The layer that said a text first."""
    layers = {held.overrode[0].layer if held.overrode else held.layer for held in texts.values()}
    return next(layer for layer in policy.market.layers if layer in layers)


def _of_block(section: str, name: str, keys: Mapping[str, Sourced], first: str) -> Iterator[Fault]:
    """One warning for each layer that changes nothing of a block; of a restated value with a note or source, the note is a change."""
    changed: set[str] = set()
    same: dict[str, tuple[str, Overridden, Overridden]] = {}
    for key, held in keys.items():
        said = [*held.overrode, Overridden(held.value, held.layer, held.place)]
        if said[0].layer != first:
            changed.add(said[0].layer)
        for before, after in pairwise(said):
            if before.value != after.value:
                changed.add(after.layer)
            else:
                same.setdefault(after.layer, (key, before, after))
    for layer, (key, before, after) in same.items():
        if layer not in changed:
            found = f"`{key}` of the {section} `{name}` is set to {shown(after.value)}, as in `{before.layer}` ({before.place})"
            advice = (
                "Leave it out: then a later change there reaches this market too. If it is meant, say why in a `note`."
            )
            yield Fault(
                "same-override",
                found,
                "a value that differs, or a `note` or `basis` of its own",
                after.place,
                name,
                advice,
            )
