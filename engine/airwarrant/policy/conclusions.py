"""What the rules of a policy conclude, and at which kinds of thing: what other rules may read."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.layers import Block


@dataclass(frozen=True, slots=True)
class Concluded:
    """Kinds at which each finding and each line may stand, and the names holds go by."""

    findings: Mapping[str, frozenset[str]]
    lines: Mapping[str, frozenset[str]]
    holds: frozenset[str]
    groups: frozenset[str]
    tasks: frozenset[str] = field(default_factory=frozenset)


def concluded(rules: Iterable[Block], tasks: Mapping[str, Block]) -> Concluded:
    """Gather the conclusions of all rules."""
    findings: dict[str, set[str]] = {}
    lines: dict[str, set[str]] = {}
    holds = set()
    for rule in rules:
        each = rule.get("each", HOUSE_KEY)
        for then in rule.get("then", []):
            kinds = _kinds(each, then.get("at", ""))
            if "finding" in then:
                findings.setdefault(then["finding"], set()).update(kinds)
            elif "line" in then:
                lines.setdefault(then["line"], set()).update(kinds)
            elif "named" in then:
                holds.add(then["named"])
    groups = {group for task in tasks.values() for group in task.get("groups", ())}
    return Concluded(
        {name: frozenset(kinds) for name, kinds in sorted(findings.items())},
        {name: frozenset(kinds) for name, kinds in sorted(lines.items())},
        frozenset(holds),
        frozenset(groups),
        frozenset(tasks),
    )


def _kinds(each: str, at: str) -> set[str]:
    """Kinds a conclusion may land at: with a link that the record leaves out, it lands at the house."""
    if not at:
        return {each}
    link = KINDS[each].fields.get(at) if each in KINDS else None
    return {link.kind, HOUSE_KEY} if link is not None and link.form == "link" else {HOUSE_KEY}
