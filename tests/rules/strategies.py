"""Small random policies that are stratified, and random jobs for them."""

from collections.abc import Mapping
from dataclasses import dataclass
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
    heads = [_head(random) for _ in range(random.randint(1, most))]
    made = _made(heads)
    rules = [_rule(random, number, head, made) for number, head in enumerate(heads)]
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
    verdicts: dict[tuple[str, str, str], str] = {
        (check, time, key): random.choice(VERDICTS)
        for check in CHECKS
        for time in TIMES
        for held in keys.values()
        for key in held
        if random.random() < 0.6
    }
    carried = frozenset(task for task in _tasks() if random.random() < 0.2)
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


@dataclass(frozen=True, slots=True)
class Head:
    """A rule without its clauses: they read what other heads conclude."""

    level: int
    each: str
    then: tuple[Then, ...]


@dataclass(frozen=True, slots=True)
class Made:
    """Something a head concludes, and the kind of place where it lands."""

    what: str
    name: str
    kind: str
    level: int


def _head(random: Random) -> Head:
    each, level = random.choice(tuple(WORDS)), random.randrange(LEVELS)
    return Head(level, each, tuple(_then(random, each, level) for _ in range(random.randint(1, 3))))


def _then(random: Random, each: str, level: int) -> Then:
    at = random.choice(("", "", *LINKS.get(each, ())))
    shape = random.random()
    if shape < 0.5:
        return Then("finding", f"{random.choice('ab')}-{level}", at=at)
    if shape < 0.9:
        return Then("line", f"{random.choice(TASKS)}-{level}", tier="required", at=at)
    return Then("caution", "dust")


def _made(heads: list[Head]) -> list[Made]:
    return [
        Made(then.what, then.name, KINDS[head.each].fields[then.at].kind if then.at else head.each, head.level)
        for head in heads
        for then in head.then
        if then.what != "caution"
    ]


def _rule(random: Random, number: int, head: Head, made: list[Made]) -> Rule:
    each, level = head.each, head.level
    below = [one for one in made if one.level < level]
    here = [one for one in made if one.level <= level]
    choices = random.randint(1, 3) if random.random() < 0.5 else 0
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
        when=tuple(_clause(random, each, here, below) for _ in range(random.choice((0, 0, 1, 1, 1, 2, 2, 6)))),
        any=tuple(_clause(random, each, here, below) for _ in range(choices)),
        unless=tuple(_clause(random, each, below, below) for _ in range(random.choice((0, 0, 0, 0, 1, 2)))),
        then=head.then,
    )


def _clause(random: Random, each: str, here: list[Made], below: list[Made]) -> Clause:
    """Return a clause: of one place it reads what is in `here`, over a kind only what is in `below`."""
    target = random.choice(("own", "own", "house", *LINKS.get(each, ())))
    shape = random.randrange(9)
    if shape == 0:
        return WhereClause(_where(random, each, 1.0))
    if shape == 1:
        return CarriedClause(random.choice(_tasks()))
    if shape == 2:
        return _fact(random, each)
    kind = each if target == "own" else "house" if target == "house" else KINDS[each].fields[target].kind
    read = _one(random, here, kind)
    if shape in (3, 4, 5) and read is not None:
        return FindingClause(read.name, target) if read.what == "finding" else LineClause(read.name, target)
    if shape == 6:
        return _many(random, below)
    return CheckClause(random.choice(CHECKS), _some(random, VERDICTS), random.choice(TIMES), target)


def _one(random: Random, made: list[Made], kind: str) -> Made | None:
    """One of `made`, mostly of those that land at `kind`."""
    fitting = [one for one in made if one.kind == kind]
    pool = fitting if fitting and random.random() < 0.9 else made
    return random.choice(pool) if pool else None


def _many(random: Random, below: list[Made]) -> ManyClause:
    kind = random.choice(tuple(WORDS))
    quantifier = random.choice(QUANTIFIERS)
    where = _where(random, kind, 0.25)
    read = _one(random, below, kind)
    shape = random.randrange(4)
    if shape < 2 and read is not None:
        if read.what == "finding":
            return ManyClause(quantifier, kind, where, finding=read.name)
        return ManyClause(quantifier, kind, where, line=read.name)
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


def _tasks() -> tuple[str, ...]:
    return tuple(f"{task}-{level}" for task in TASKS for level in range(LEVELS))
