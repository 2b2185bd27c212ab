"""Rules whose findings other rules read, and whether it is safer that they find or that they do not."""

from collections.abc import Iterator, Sequence

from airwarrant.policy.model import FindingClause, ManyClause, Policy, Rule

#: A rule, with 1 where it is safer that it acts and -1 where it is safer that it does not.
Signed = tuple[Rule, int]


def feeding(policy: Policy, rules: Sequence[Signed]) -> list[Signed]:
    """Rules of other authority whose findings these read, each with 1 where it is safer that they stand and -1 where not."""
    found: dict[tuple[str, int], None] = {}
    own = {rule.authority for rule, _ in rules}
    left = list(rules)
    while left:
        rule, sign = left.pop()
        for finding, times in _findings_read(rule):
            for name, other in policy.rules.items():
                concludes = any(then.what == "finding" and then.name == finding for then in other.then)
                if concludes and other.authority not in own and (name, sign * times) not in found:
                    found[name, sign * times] = None
                    left.append((other, sign * times))
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
