"""Packing variants into rulesets small enough for the engine."""

from collections.abc import Iterable, Mapping, Sequence

from airwarrant.errors import Fault, PolicyError
from airwarrant.policy.model import Rule
from airwarrant.rules.clauses import atoms_concluded, atoms_read
from airwarrant.rules.durable import KINDS_PER_RULESET, PATTERNS_PER_KIND
from airwarrant.rules.expand import Variant


def pack(
    groups: Iterable[Sequence[str]], variants: Mapping[str, Sequence[Variant]], rules: Mapping[str, Rule]
) -> tuple[tuple[Variant, ...], ...]:
    """Pack the variants of one stratum into chunks that run one after the other.

    Parameters
    ----------
    groups : iterable of sequence of str
        Rules of the stratum, those that feed each other together, producers before consumers.
    variants : mapping of str to sequence of Variant
        By rule.
    rules : mapping of str to Rule
        The rules themselves.

    Raises
    ------
    PolicyError
        ``group-too-large``: rules that feed each other in a ring do not fit one ruleset.
    """
    chunks: list[list[Variant]] = [[]]
    load: dict[str, int] = {}
    for group in groups:
        for part in _parts(group, variants, rules):
            joined = _loaded(load, part)
            if not _fits(joined):
                chunks.append([])
                joined = _loaded({}, part)
                if not _fits(joined):
                    raise PolicyError([_too_large(group, rules)])
            load = joined
            chunks[-1].extend(part)
    return tuple(tuple(chunk) for chunk in chunks if chunk)


def _parts(
    group: Sequence[str], variants: Mapping[str, Sequence[Variant]], rules: Mapping[str, Rule]
) -> list[list[Variant]]:
    """What must stay in one chunk: a whole ring of rules, but each variant alone of a rule that feeds no ring."""
    every = [variant for name in group for variant in variants[name]]
    ring = len(group) > 1 or bool(
        {read.name for read in atoms_read(rules[group[0]])} & atoms_concluded(rules[group[0]])
    )
    return [every] if ring and every else [[variant] for variant in every]


def _loaded(load: Mapping[str, int], part: Iterable[Variant]) -> dict[str, int]:
    joined = dict(load)
    for variant in part:
        for pattern in variant.patterns:
            joined[pattern.kind] = joined.get(pattern.kind, 0) + 1
    return joined


def _fits(load: Mapping[str, int]) -> bool:
    return len(load) <= KINDS_PER_RULESET and max(load.values(), default=0) <= PATTERNS_PER_KIND


def _too_large(group: Sequence[str], rules: Mapping[str, Rule]) -> Fault:
    first = rules[group[0]]
    return Fault(
        code="group-too-large",
        found=f"{len(group)} rules feed each other in a ring: {', '.join(f'`{name}`' for name in group)}",
        allowed=f"rings whose rules and alternatives ask at most {PATTERNS_PER_KIND} times for one kind of thing",
        place=first.place,
        field=first.name,
        advice="Break the ring, or let it have fewer alternatives.",
    )
