"""Packing variants into rulesets small enough for the engine, those together that are told the same."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from airwarrant.errors import Fault, PolicyError
from airwarrant.policy.model import CarriedClause, Rule
from airwarrant.rules.clauses import atoms_concluded, atoms_read, checks_read, clauses_of
from airwarrant.rules.durable import FIELDS_PER_RULESET, KINDS_PER_RULESET, PATTERNS_PER_KIND
from airwarrant.rules.expand import Variant
from airwarrant.rules.strata import is_ring

#: Rules of a ring that a message names.
_NAMED = 3


class Rank(NamedTuple):
    """Where a rule stands in its stratum.

    `late` rules can answer otherwise in a later round; `depth` counts the rules before one whose conclusions it reads.
    """

    late: bool
    depth: int
    kind: str
    first: str


def ranked(groups: Iterable[Sequence[str]], rules: Mapping[str, Rule]) -> dict[str, Rank]:
    """Give every rule its rank in its stratum; in this order producers still stand before consumers.

    Rules that can answer otherwise in a later round go last, in rulesets of their own: those before them need not be asked again.
    Rules over one kind stand together: a ruleset is told the subjects of few kinds.

    Parameters
    ----------
    groups : iterable of sequence of str
        Rules of all strata, those that feed each other together, producers before consumers.
    rules : mapping of str to Rule
    """
    made: dict[tuple[str, str], list[str]] = {}
    ranks: dict[str, Rank] = {}
    for group in groups:
        reads = {read.name for name in group for read in atoms_read(rules[name])}
        behind = [ranks[name] for read in reads for name in made.get(read, ())]
        late = any(map(_changes, (rules[name] for name in group))) or any(rank.late for rank in behind)
        depth = 1 + max((rank.depth for rank in behind), default=0)
        for name in group:
            ranks[name] = Rank(late, depth, rules[group[0]].each, group[0])
            for atom in atoms_concluded(rules[name]):
                made.setdefault(atom, []).append(name)
    return ranks


def _changes(rule: Rule) -> bool:
    """Whether a rule reads what differs from round to round."""
    predicted = any(time == "predicted" for _, time in checks_read(rule))
    return predicted or any(isinstance(clause, CarriedClause) for _, _, clause in clauses_of(rule))


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
    load = _Load({}, frozenset())
    for group in groups:
        for part in _parts(group, variants, rules):
            joined = load.with_more(part)
            if not joined.fits:
                chunks.append([])
                joined = _Load({}, frozenset()).with_more(part)
                if not joined.fits:
                    raise PolicyError([_too_large(group, rules)])
            load = joined
            chunks[-1].extend(part)
    return tuple(tuple(chunk) for chunk in chunks if chunk)


def _parts(
    group: Sequence[str], variants: Mapping[str, Sequence[Variant]], rules: Mapping[str, Rule]
) -> list[list[Variant]]:
    """What must stay in one chunk: a whole ring of rules, but each variant alone of a rule that feeds no ring."""
    every = [variant for name in group for variant in variants[name]]
    return [every] if every and is_ring(group, rules) else [[variant] for variant in every]


class _Load(NamedTuple):
    """What a ruleset holds: patterns of each kind, and the fields that they read."""

    patterns: Mapping[str, int]
    fields: frozenset[str]

    def with_more(self, part: Iterable[Variant]) -> "_Load":
        patterns, fields = dict(self.patterns), set(self.fields)
        for variant in part:
            for pattern in variant.patterns:
                patterns[pattern.kind] = patterns.get(pattern.kind, 0) + 1
                fields |= pattern.fields
        return _Load(patterns, frozenset(fields))

    @property
    def fits(self) -> bool:
        fullest = max(self.patterns.values(), default=0)
        return (
            len(self.patterns) <= KINDS_PER_RULESET
            and fullest <= PATTERNS_PER_KIND
            and len(self.fields) <= FIELDS_PER_RULESET
        )


def _too_large(group: Sequence[str], rules: Mapping[str, Rule]) -> Fault:
    first = rules[group[0]]
    named = ", ".join(f"`{name}`" for name in group[:_NAMED])
    more = f" and {len(group) - _NAMED} more" if len(group) > _NAMED else ""
    return Fault(
        code="group-too-large",
        found=f"{len(group)} rules feed each other in a ring: {named}{more}",
        allowed=f"at most {PATTERNS_PER_KIND} alternatives of one kind in a ring",
        place=first.place,
        field=first.name,
        advice="Break the ring, or let it have fewer alternatives.",
    )
