"""Local facts that are still to be filled in: a market that somebody started, and nobody has looked up the law of."""

from collections.abc import Iterator, Mapping
from dataclasses import fields

from airwarrant.errors import Fault, PolicyError
from airwarrant.policy.basis_shape import UNFILLED
from airwarrant.policy.model import Market, Named, Policy

_ADVICE = "Look it up, write it in with its source, and confirm it with the local authority."
_SOURCE = ("cite", "edition", "adopted")


def jurisdiction_known(market: Market) -> bool:
    """Whether a market names its jurisdiction and the editions adopted there."""
    return market.jurisdiction not in ("", UNFILLED) and bool(market.editions) and UNFILLED not in market.editions


def unfilled(policy: Policy) -> tuple[Fault, ...]:
    """Return one fault for each local fact of a policy that holds ``?`` in place of an answer, by where it stands."""
    found = [*_of_market(policy.market), *(fault for block in _blocks(policy) for fault in _of_block(block))]
    return PolicyError(found).faults  # in order of place


def _of_market(market: Market) -> Iterator[Fault]:
    for key, held in (("jurisdiction", (market.jurisdiction,)), ("editions", market.editions)):
        if UNFILLED in held:
            found = f"the {key} of market `{market.name}` {'is' if key == 'jurisdiction' else 'are'} not filled in"
            yield Fault("unfilled", found, place=market.keys.get(key, market.place), advice=_ADVICE)


def _of_block(block: Named) -> Iterator[Fault]:
    given = block.keys.get("basis")
    if given is not None and isinstance(given.value, Mapping):
        lacks = [key for key in _SOURCE if given.value.get(key) == UNFILLED]
        if lacks:
            found = f"`{block.name}` has no local source yet: {', '.join(lacks)} {'is' if len(lacks) == 1 else 'are'} `{UNFILLED}`"
            yield Fault("unfilled", found, place=given.place, advice=_ADVICE)


def _blocks(policy: Policy) -> Iterator[Named]:
    for part in fields(policy):
        held = getattr(policy, part.name)
        if isinstance(held, Mapping):
            yield from (block for block in held.values() if isinstance(block, Named))
