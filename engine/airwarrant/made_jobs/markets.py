"""Which climate each market of a policy folder lies in: that of its region's layer."""

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from types import MappingProxyType

from airwarrant.errors import CallError, Fault, nearest
from airwarrant.made_jobs import figures
from airwarrant.policy.files import market_names, read_market
from airwarrant.shipped import shipped

_REGION = "regions/"


@cache
def shipped_climates() -> Mapping[str, str]:
    """Climates of the shipped markets."""
    return climates_of((shipped("policies"),))


def climates_of(roots: Sequence[Path], market: str = "") -> Mapping[str, str]:
    """Return the climate of every market of some policy folders, or of one of them.

    Raises
    ------
    CallError
        If the one market is not there, or names no region that jobs can be made for; without `market` such a market is
        left out.
    PolicyError
        If a market's file has faults.
    """
    known = market_names(*roots)
    if market and market not in known:
        fault = Fault(
            "unknown-market", f"there is no market `{market}`", ", ".join(known), advice=nearest(market, known)
        )
        raise CallError([fault])
    found = {name: climate for name in known if not market or name == market if (climate := _climate(roots, name))}
    if market and not found:
        climates = ", ".join(sorted(figures.climates()))
        raise CallError(
            [
                Fault(
                    "no-climate",
                    f"the market `{market}` has no region that jobs can be made for",
                    f"a layer `regions/…` of {climates}",
                )
            ]
        )
    return MappingProxyType(found)


def _climate(roots: Sequence[Path], market: str) -> str:
    layers = read_market(roots, market)[0].layers
    regions = (layer.removeprefix(_REGION) for layer in layers if layer.startswith(_REGION))
    return next((region for region in regions if region in figures.climates()), "")
