"""Rules that change nothing: another of the same or stricter authority fires with the same conclusions wherever they do.

Two rules may conclude the same for reasons of their own; only where the one cannot fire without the other is it idle. A rule that
explains itself, by a text of its own or by what is read of it, is no less idle: the reason tree names both.
"""

from collections.abc import Iterator

from airwarrant.desks.analysis.fires import Fires
from airwarrant.errors import Fault
from airwarrant.policy.model import AUTHORITIES, Policy, Rule, Then
from airwarrant.source.place import Place


def shadowed(policy: Policy, fires: Fires) -> Iterator[Fault]:
    """Yield a warning for each rule that another shadows, and one for the later of two that shadow each other."""
    reachable = [rule for rule in policy.rules.values() if fires.example(rule) is not None]
    over = {(rule.name, other.name) for other, rule in _candidates(reachable) if fires.never(rule, spared=other)}
    told: set[str] = set()
    for name, other in sorted(over):
        rule, by = policy.rules[name], policy.rules[other]
        if (other, name) in over and rule.authority == by.authority:
            if _rank(policy, rule) < _rank(policy, by) or name in told:
                continue
            told.add(name)
            found = f"rule `{name}` fires exactly where rule `{other}` ({by.place}) does, with the same conclusions"
            yield Fault("duplicate-rule", found, "one rule of the two", rule.place, name, _example(fires, rule))
        elif name not in told:
            told.add(name)
            found = (
                f"wherever rule `{name}` fires, rule `{other}` ({by.place}), of authority {by.authority}, fires too and "
                "concludes the same"
            )
            yield Fault("shadowed-rule", found, "a rule that adds something", rule.place, name, _example(fires, rule))


def _rank(policy: Policy, rule: Rule) -> tuple[int, Place]:
    """Which of two rules was there first: by layer, then by place."""
    return policy.market.layers.index(rule.layer), rule.place


def _example(fires: Fires, rule: Rule) -> str:
    picture = fires.example(rule)
    lines = fires.said(picture, rule) if picture is not None else ()
    return f"Both fire in this job: {'; '.join(lines) or 'every job'}"


def _candidates(rules: list[Rule]) -> Iterator[tuple[Rule, Rule]]:
    """Pairs of which the first says all that the second says, and is no weaker."""
    by_then: dict[tuple[str, tuple[str, ...]], list[Rule]] = {}
    for rule in rules:
        for then in rule.then:
            by_then.setdefault((rule.each, _what(then)), []).append(rule)
    for rule in rules:
        for other in by_then.get((rule.each, _what(rule.then[0])), ()):
            if other.name != rule.name and _no_weaker(other, rule):
                yield other, rule


def _no_weaker(other: Rule, rule: Rule) -> bool:
    stricter = AUTHORITIES.index(other.authority) <= AUTHORITIES.index(rule.authority)
    return stricter and {_what(then) for then in rule.then} <= {_what(then) for then in other.then}


def _what(then: Then) -> tuple[str, ...]:
    """What a conclusion does; of its texts only whether a lift finds it by name."""
    return (
        then.what,
        then.name,
        then.tier,
        then.at,
        then.named,
        then.for_,
        then.of,
        then.when,
        str(then.gate),
        str(then.to),
    )
