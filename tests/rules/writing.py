"""Short ways to write rules and facts in tests."""

from collections.abc import Iterable, Mapping

from airwarrant.policy.model import Clause, FindingClause, Rule, Then, Words
from airwarrant.rules.facts import Facts, Subject
from airwarrant.source.place import Place


def finds(finding: str, at: str = "") -> Then:
    return Then("finding", finding, at=at)


def line(task: str, at: str = "") -> Then:
    return Then("line", task, tier="required", at=at)


def rule(
    name: str,
    *then: Then,
    each: str = "house",
    where: Words = (),
    when: Iterable[Clause] = (),
    any_: Iterable[Clause] = (),
    unless: Iterable[Clause] = (),
    at_line: int = 1,
) -> Rule:
    return Rule(
        name=name,
        place=Place("rules.toml", at_line, 1),
        layer="trade",
        keys={},
        title=name,
        stage="scope",
        authority="practice",
        each=each,
        where=where,
        when=tuple(when),
        any=tuple(any_),
        unless=tuple(unless),
        then=then,
    )


def rules(*each: Rule) -> Mapping[str, Rule]:
    return {one.name: one for one in each}


def facts(
    *subjects: Subject, verdicts: Mapping[tuple[str, str, str], str] | None = None, carried: Iterable[str] = ()
) -> Facts:
    house = [one for one in subjects if one.kind == "house"] or [Subject("house", "house")]
    held: dict[str, list[Subject]] = {"house": house}
    for one in subjects:
        if one.kind != "house":
            held.setdefault(one.kind, []).append(one)
    return Facts(
        {kind: tuple(sorted(many, key=lambda one: one.key)) for kind, many in held.items()},
        dict(verdicts or {}),
        frozenset(carried),
    )


def chain(length: int) -> Mapping[str, Rule]:
    """Rules of which each reads what the one before found."""
    first = rule("c.000", finds("f000"))
    return rules(
        first,
        *(
            rule(f"c.{n:03}", finds(f"f{n:03}"), when=[FindingClause(f"f{n - 1:03}")], at_line=n + 1)
            for n in range(1, length)
        ),
    )
