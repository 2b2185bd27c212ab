"""Rules whose findings other rules read, and whether it is safer that they find or that they do not."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from airwarrant.policy.model import FindingClause, ManyClause, Policy, Rule

#: A rule, with 1 where it is safer that it acts and -1 where it is safer that it does not.
Signed = tuple[Rule, int]


def signed(rules: Sequence[Signed]) -> Iterator[Signed]:
    """Rules by what they conclude: what is lifted is safer not said, so that one that also lifts is followed both ways."""
    for rule, sign in rules:
        lifts = tuple(then for then in rule.then if then.what == "lift")
        others = tuple(then for then in rule.then if then.what != "lift")
        if others:
            yield replace(rule, then=others), sign
        if lifts:
            yield replace(rule, then=lifts), -sign


def feeding(policy: Policy, rules: Sequence[Signed], authority: str) -> list[Signed]:
    """Rules whose findings these read, each with 1 where it is safer that they stand and -1 where not.

    Of the `authority` in question only those are given that are safer silent: that the others speak is followed of itself.
    A rule that votes the very hold that its finding lets another lift is not given: where it finds more, it holds more.
    """
    found: dict[tuple[str, int], None] = {}
    left = list(rules)
    while left:
        rule, sign = left.pop()
        for finding, times in _findings_read(rule):
            way = sign * times
            for name, other in policy.rules.items():
                concludes = any(then.what == "finding" and then.name == finding for then in other.then)
                followed = other.authority != authority or way < 0
                if (
                    concludes
                    and followed
                    and (name, way) not in found
                    and not (way < 0 and holds(other) & _lifted(rule))
                ):
                    found[name, way] = None
                    left.append((other, way))
    return [(policy.rules[name], sign) for name, sign in sorted(found)]


def shunned(rules: Iterable[Signed]) -> Iterator[tuple[str, frozenset[str]]]:
    """Findings that keep rules from what it is safer that they do; each with the holds that it lets them lift, if that is all they do."""
    for rule, sign in rules:
        yield from ((finding, _lifted(rule)) for finding, times in _findings_read(rule) if sign * times < 0)


def holds(rule: Rule) -> frozenset[str]:
    """The names, for lifts, of what a rule holds."""
    return frozenset(then.named or rule.name for then in rule.then if then.what == "hold")


def _lifted(rule: Rule) -> frozenset[str]:
    only = all(then.what == "lift" for then in rule.then)
    return frozenset(then.name for then in rule.then) if only else frozenset()


def _findings_read(rule: Rule) -> Iterator[tuple[str, int]]:
    for part, sign in ((rule.when, 1), (rule.any, 1), (rule.unless, -1)):
        for clause in part:
            if isinstance(clause, FindingClause):
                yield clause.finding, sign
            elif isinstance(clause, ManyClause) and clause.finding:
                yield clause.finding, -sign if clause.quantifier == "none" else sign
