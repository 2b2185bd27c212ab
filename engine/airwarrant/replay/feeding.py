"""Rules whose findings other rules read, and whether it is safer that they find or that they do not."""

from collections.abc import Iterator, Sequence

from airwarrant.policy.model import FindingClause, ManyClause, Policy, Rule

#: A rule, with 1 where it is safer that it acts and -1 where it is safer that it does not.
Signed = tuple[Rule, int]


def feeding(policy: Policy, rules: Sequence[Signed], authority: str) -> list[Signed]:
    """Rules whose findings these read, each with 1 where it is safer that they stand and -1 where not.

    Of the `authority` in question only those are given that are safer silent: that the others speak is followed of itself.
    """
    found: dict[tuple[str, int], None] = {}
    left = list(rules)
    while left:
        rule, sign = left.pop()
        for finding, times in _findings_read(rule):
            way = sign * times
            for name, other in policy.rules.items():
                concludes = any(then.what == "finding" and then.name == finding for then in other.then)
                if concludes and (other.authority != authority or way < 0) and (name, way) not in found:
                    found[name, way] = None
                    left.append((other, way))
    return [(policy.rules[name], sign) for name, sign in sorted(found)]


def shunned(rule: Rule, sign: int) -> Iterator[str]:
    """Findings that keep a rule from what it is safer that it does."""
    yield from (finding for finding, times in _findings_read(rule) if sign * times < 0)


def _findings_read(rule: Rule) -> Iterator[tuple[str, int]]:
    for part, sign in ((rule.when, 1), (rule.any, 1), (rule.unless, -1)):
        for clause in part:
            if isinstance(clause, FindingClause):
                yield clause.finding, sign
            elif isinstance(clause, ManyClause) and clause.finding:
                yield clause.finding, -sign if clause.quantifier == "none" else sign
