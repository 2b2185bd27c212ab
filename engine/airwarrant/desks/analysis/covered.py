"""Kinds of things and regions that a policy passes over."""

from collections.abc import Iterator, Mapping

from airwarrant.errors import Fault
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.model import FactClause, ManyClause, Policy, Sourced
from airwarrant.source.place import Place

REGIONS = "regions/"
#: Regions that must agree on setting a value before one that does not is asked why.
_OTHERS_LEAST = 2


def kind_gaps(policy: Policy) -> Iterator[Fault]:
    """Yield a warning for each kind of the record of which no check, rule or clause speaks."""
    spoken = {
        HOUSE_KEY,
        *(check.each for check in policy.checks.values()),
        *(rule.each for rule in policy.rules.values()),
    }
    clauses = (clause for rule in policy.rules.values() for clause in (*rule.when, *rule.any, *rule.unless))
    spoken |= {clause.kind for clause in clauses if isinstance(clause, ManyClause | FactClause)}
    for kind in KINDS:
        if kind not in spoken:
            found = f"no check or rule speaks of the kind `{kind}`: whatever a job says of one changes nothing"
            yield Fault(
                "kind-gap", found, f'a rule with each = "{kind}", or {{ some = "{kind}" }}', policy.market.place, kind
            )


def set_by_region(policy: Policy) -> Mapping[str, frozenset[str]]:
    """Return for each region layer of a market the parameters and tables that it sets."""
    found: dict[str, set[str]] = {layer: set() for layer in policy.market.layers if layer.startswith(REGIONS)}
    for block in (*policy.parameters.values(), *policy.tables.values()):
        for key in block.keys.values():
            for layer in _layers(key):
                if layer in found:
                    found[layer].add(block.name)
    return {layer: frozenset(names) for layer, names in found.items()}


def region_gaps(regions: Mapping[str, tuple[Place, frozenset[str]]]) -> Iterator[Fault]:
    """Yield a warning for each value that every other region sets and one does not.

    Parameters
    ----------
    regions : mapping of layer to (place, names)
        Where the layer is named first, and what it sets.
    """
    for layer, (place, own) in regions.items():
        others = [names for other, (_, names) in regions.items() if other != layer]
        if len(others) < _OTHERS_LEAST:
            continue
        for name in sorted(frozenset.intersection(*others) - own):
            found = f"`{layer}` does not set `{name}`, which every other region sets"
            advice = f"If the value before it is the one of `{layer}`, say so there with a `note` and nothing else."
            yield Fault("region-gap", found, "a value of its own, with its basis", place, name, advice)


def _layers(key: Sourced) -> tuple[str, ...]:
    return (key.layer, *(old.layer for old in key.overrode))
