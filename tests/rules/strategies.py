"""Small random policies that are stratified, and random jobs for them."""

from collections.abc import Mapping
from random import Random
from types import MappingProxyType
from typing import Literal

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.model import (
    AUTHORITIES,
    CarriedClause,
    CheckClause,
    Clause,
    FactClause,
    FindingClause,
    LineClause,
    ManyClause,
    Rule,
    Then,
    Time,
    WhereClause,
    Words,
)
from airwarrant.rules.facts import Facts, Subject
from airwarrant.source.place import Place

VERDICTS = ("pass", "fail", "close", "unmeasured")
TIMES: tuple[Time, ...] = ("found", "predicted", "test-out")
QUANTIFIERS: tuple[Literal["some", "every", "none"], ...] = ("some", "every", "none")
CHECKS = ("flow", "draft", "leak")
TASKS = ("seal", "balance", "replace")
LEVELS = 3  # findings and tasks carry their level in their name, so that `unless` and counts can look down only
#: kinds with few fields and, between them, every shape of link
WORDS = {
    "house": ("fuel", "filter_state"),
    "platform": ("lining", "moisture"),
    "zone": ("open_draft", "vents"),
    "room": ("use", "complaint"),
    "run": ("condition",),
}
LINKS = {"platform": ("zone",), "run": ("room",)}


def random_rules(random: Random, most: int = 14) -> Mapping[str, Rule]:
    """Return rules that read findings and lines of their own level or below, strictly only from below."""
    rules = [_rule(random, number, random.randrange(LEVELS)) for number in range(random.randint(1, most))]
    random.shuffle(rules)
    return MappingProxyType({rule.name: rule for rule in rules})


def random_facts(random: Random, most: int = 4) -> Facts:
    """Return a job: a house, some items with words and links, and verdicts for some of them."""
    keys = {kind: [f"{kind}-{n}" for n in range(random.randint(0, most))] for kind in WORDS if kind != "house"}
    keys["house"] = [HOUSE_KEY]
    subjects = {
        kind: tuple(
            Subject(kind, key, _own_words(random, kind), _own_links(random, kind, keys)) for key in sorted(held)
        )
        for kind, held in keys.items()
        if held or random.random() < 0.5
    }
    verdicts = {
        (check, time, key): random.choice(VERDICTS)
        for check in CHECKS
        for time in TIMES
        for held in keys.values()
        for key in held
        if random.random() < 0.6
    }
    carried = frozenset(task for task in _names(TASKS, LEVELS - 1) if random.random() < 0.2)
    return Facts(MappingProxyType(subjects), MappingProxyType(verdicts), carried)


def shuffled(random: Random, facts: Facts) -> Facts:
    """Return the same job with everything in another order."""
    kinds = list(facts.subjects)
    random.shuffle(kinds)
    verdicts = list(facts.verdicts.items())
    random.shuffle(verdicts)
    subjects = {kind: tuple(random.sample(facts.of(kind), len(facts.of(kind)))) for kind in kinds}
    return Facts(MappingProxyType(subjects), MappingProxyType(dict(verdicts)), facts.carried)


def _own_words(random: Random, kind: str) -> Mapping[str, str]:
    return MappingProxyType(
        {name: random.choice(_closed(kind, name)) for name in WORDS[kind] if random.random() < 0.75}
    )


def _own_links(random: Random, kind: str, keys: Mapping[str, list[str]]) -> Mapping[str, str]:
    links = {}
    for name in LINKS.get(kind, ()):
        pointed = keys[KINDS[kind].fields[name].kind]
        if pointed and random.random() < 0.8:
            links[name] = random.choice(pointed)
        elif random.random() < 0.1:
            links[name] = "gone"
    return MappingProxyType(links)


def _rule(random: Random, number: int, level: int) -> Rule:
    each = random.choice(tuple(WORDS))
    anything: list[Clause] = []
    if random.random() < 0.5:
        anything = [_clause(random, each, level) for _ in range(random.randint(1, 3))]
    return Rule(
        name=f"r.{number}",
        place=Place("rules.toml", number + 1, 1),
        layer="trade",
        keys={},
        title="",
        stage="scope",
        authority=random.choice(AUTHORITIES),
        each=each,
        where=_where(random, each, 0.15),
        when=tuple(_clause(random, each, level) for _ in range(random.choice((0, 1, 1, 1, 2, 2, 6)))),
        any=tuple(anything),
        unless=tuple(_clause(random, each, level - 1) for _ in range(random.choice((0, 0, 0, 0, 1, 2)))),
        then=tuple(_then(random, each, level) for _ in range(random.randint(1, 3))),
    )


def _then(random: Random, each: str, level: int) -> Then:
    at = random.choice(("", "", *LINKS.get(each, ())))
    shape = random.random()
    if shape < 0.5:
        return Then("finding", _named(random, ("a", "b"), level, level), at=at)
    if shape < 0.9:
        return Then("line", _named(random, TASKS, level, level), tier="required", at=at)
    return Then("caution", "dust")


def _clause(random: Random, each: str, level: int) -> Clause:
    """Return a clause that reads nothing above `level`; counts read below it only."""
    target = random.choice(("own", "own", "house", *LINKS.get(each, ())))
    shape = random.randrange(9)
    if shape == 0:
        return WhereClause(_where(random, each, 1.0))
    if shape == 1:
        return CarriedClause(_named(random, TASKS, 0, LEVELS - 1))
    if shape == 2:
        return _fact(random, each)
    if shape in (3, 4, 5) and level >= 0:
        if random.random() < 0.6:
            return FindingClause(_named(random, ("a", "b"), 0, level), target)
        return LineClause(_named(random, TASKS, 0, level), target)
    if shape == 6:
        return _many(random, level - 1)
    return CheckClause(random.choice(CHECKS), _some(random, VERDICTS), random.choice(TIMES), target)


def _many(random: Random, level: int) -> ManyClause:
    kind = random.choice(tuple(WORDS))
    quantifier = random.choice(QUANTIFIERS)
    where = _where(random, kind, 0.25)
    shape = random.randrange(4)
    if shape == 0 and level >= 0:
        return ManyClause(quantifier, kind, where, finding=_named(random, ("a", "b"), 0, level))
    if shape == 1 and level >= 0:
        return ManyClause(quantifier, kind, where, line=_named(random, TASKS, 0, level))
    if shape == 2:
        return ManyClause(quantifier, kind, where)
    return ManyClause(quantifier, kind, where, random.choice(CHECKS), _some(random, VERDICTS), random.choice(TIMES))


def _fact(random: Random, each: str) -> FactClause:
    kind = random.choice(tuple(WORDS))
    mine = ("id", *LINKS.get(each, ()), *WORDS[each])
    its = ("id", "id", *LINKS.get(kind, ()), *WORDS[kind])
    same = tuple((random.choice(its), random.choice(mine)) for _ in range(random.choice((0, 1, 1, 1, 2))))
    return FactClause(kind, same, _where(random, kind, 0.25))


def _where(random: Random, kind: str, share: float) -> Words:
    return tuple((name, _some(random, _closed(kind, name))) for name in sorted(WORDS[kind]) if random.random() < share)


def _closed(kind: str, name: str) -> tuple[str, ...]:
    return KINDS[kind].fields[name].words


def _some(random: Random, words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(random.sample(words, random.choice((1, 1, 2, 2, min(3, len(words))))))


def _names(bases: tuple[str, ...], level: int) -> tuple[str, ...]:
    return tuple(f"{base}-{n}" for base in bases for n in range(level + 1))


def _named(random: Random, bases: tuple[str, ...], low: int, high: int) -> str:
    return f"{random.choice(bases)}-{random.randint(low, high)}"
