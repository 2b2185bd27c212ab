"""Which block of a policy reads which value, check or table."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from airwarrant.desks.reads import places_of
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.policy.checks import limit_refs
from airwarrant.policy.model import Policy, Ref
from airwarrant.policy.sizes import size_refs


@dataclass(frozen=True, slots=True, order=True)
class Reading:
    """A table that is read for things of a kind; `reader` names who reads it first."""

    table: str
    each: str
    reader: str


def refs_read(policy: Policy) -> Iterator[tuple[Ref, str, str]]:
    """Yield every reference of a policy with the kind that it is read for and who reads it."""
    for check in policy.checks.values():
        refs: Iterable[Ref | None] = (
            check.reading,
            check.times,
            *(ref for lim in check.limits for ref in limit_refs(lim)),
        )
        yield from ((ref, check.each, f"check `{check.name}`") for ref in refs if ref is not None)
    for figure in policy.figures.values():
        yield from ((ref, figure.each, f"figure `{figure.name}`") for ref in figure.refs)
    for rule in policy.rules.values():
        yield from ((then.to, rule.each, f"rule `{rule.name}`") for then in rule.then if then.to is not None)
    for name, task in policy.tasks.items():
        for kind in sorted(places_of(policy, name)):
            yield from ((ref, kind, f"task `{name}`") for ref in size_refs(task))

    for table in policy.tables.values():
        for proof in table.beside:
            yield from ((ref, HOUSE_KEY, f"table `{table.name}`") for given in proof.asked.given for ref in given.refs)
            if proof.limit is not None:
                yield proof.limit, HOUSE_KEY, f"table `{table.name}`"


def tables_read(policy: Policy) -> tuple[Reading, ...]:
    """Return every table that is read, once a kind."""
    found: dict[tuple[str, str], Reading] = {}
    for ref, each, reader in refs_read(policy):
        if ref.form == "table":
            found.setdefault((ref.name, each), Reading(ref.name, each, reader))
    return tuple(sorted(found.values()))
