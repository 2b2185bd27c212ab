"""The reference evaluator: what a policy means, said as plainly as possible.

It evaluates rules as they are parsed: no strata, no expansion, no engine. What a rule needs to be true is taken from
what is concluded so far; what it needs to be false from a guess at all conclusions. The guess swings between too little
and too much until both ends meet.
"""

from collections.abc import Mapping, Set

from airwarrant.errors import Fault, PolicyError
from airwarrant.job.dictionary import HOUSE_KEY, UNKNOWN
from airwarrant.policy.model import (
    CarriedClause,
    CheckClause,
    Clause,
    FactClause,
    FindingClause,
    LineClause,
    ManyClause,
    Rule,
    WhereClause,
    Words,
)
from airwarrant.rules.facts import Atom, Facts, Firing, Subject, atoms_of

Atoms = Set[Atom]


def evaluate(rules: Mapping[str, Rule], facts: Facts) -> tuple[tuple[Firing, ...], frozenset[Atom]]:
    """Return all firings in order of rule and subject, and all findings and line votes.

    Raises
    ------
    PolicyError
        ``cycle``: whether a rule fires depends on its not firing.
    """
    least: frozenset[Atom] = frozenset()
    while True:
        most = _closure(rules, facts, against=least)
        more = _closure(rules, facts, against=most)
        if more == least:
            break
        least = more
    if most != least:
        raise PolicyError([_cycle(rules, facts, least, most)])
    fired = (
        Firing(name, subject.key)
        for name, rule in rules.items()
        for subject in facts.of(rule.each)
        if fires(rule, subject, facts, least, least)
    )
    return tuple(sorted(fired)), least


def fires(rule: Rule, subject: Subject, facts: Facts, atoms: Atoms, against: Atoms) -> bool:
    """Whether `rule` fires for `subject`: what it needs is in `atoms`, what bars it is not in `against`."""
    return (
        matches(subject, rule.where)
        and all(holds(clause, subject, facts, atoms, against) for clause in rule.when)
        and (not rule.any or any(holds(clause, subject, facts, atoms, against) for clause in rule.any))
        and not any(holds(clause, subject, facts, against, atoms) for clause in rule.unless)
    )


def holds(clause: Clause, subject: Subject, facts: Facts, atoms: Atoms, against: Atoms) -> bool:
    """Whether `clause` holds for `subject`."""
    match clause:
        case WhereClause(where):
            return matches(subject, where)
        case CheckClause(check, words, time, target):
            key = key_of(subject, target)
            return key is not None and facts.verdict(check, time, key) in words
        case FindingClause(finding, target):
            key = key_of(subject, target)
            return key is not None and Atom("finding", finding, key) in atoms
        case LineClause(task, target):
            key = key_of(subject, target)
            return key is not None and Atom("line", task, key) in atoms
        case CarriedClause(task):
            return task in facts.carried
        case FactClause(kind, same, where):
            return any(matches(it, where) and equal(it, subject, same) for it in facts.of(kind))
        case ManyClause(quantifier, kind, where):
            asked = [it for it in facts.of(kind) if matches(it, where)]
            if quantifier == "some":
                return any(meets(clause, it, facts, atoms) for it in asked)
            if quantifier == "every":
                return all(meets(clause, it, facts, atoms) for it in asked)
            return not any(meets(clause, it, facts, against) for it in asked)


def meets(clause: ManyClause, it: Subject, facts: Facts, atoms: Atoms) -> bool:
    """Whether `it` meets the test of a clause over a kind; without a test it does."""
    if clause.check:
        return facts.verdict(clause.check, clause.time, it.key) in clause.is_
    if clause.finding:
        return Atom("finding", clause.finding, it.key) in atoms
    if clause.line:
        return Atom("line", clause.line, it.key) in atoms
    return True


def matches(subject: Subject, where: Words) -> bool:
    """Whether every field of `where` holds one of its words; an absent field holds ``unknown``."""
    # Asked thousands of times a job: a loop takes half the time of `all`.
    word = subject.words.get
    for field, words in where:  # noqa: SIM110
        if word(field, UNKNOWN) not in words:
            return False
    return True


def key_of(subject: Subject, target: str) -> str | None:
    """Key of the subject itself, of the house, or of the record a link names; none where the link is absent."""
    if target == "own":
        return subject.key
    if target == "house":
        return HOUSE_KEY
    return subject.links.get(target)


def equal(it: Subject, mine: Subject, same: tuple[tuple[str, str], ...]) -> bool:
    """Whether its fields equal mine, pair by pair; what is unknown equals nothing."""
    pairs = [(value_of(it, its), value_of(mine, my)) for its, my in same]
    return all(a == b and a != UNKNOWN for a, b in pairs)


def value_of(subject: Subject, field: str) -> str:
    """Key, link or word of a subject; ``unknown`` where it is absent."""
    return subject.key if field == "id" else subject.links.get(field, subject.word(field))


def _closure(rules: Mapping[str, Rule], facts: Facts, against: frozenset[Atom]) -> frozenset[Atom]:
    """Conclude until nothing new follows, with what must be false read from `against`."""
    atoms: set[Atom] = set()
    size = -1
    while len(atoms) != size:
        size = len(atoms)
        for rule in rules.values():
            for subject in facts.of(rule.each):
                if fires(rule, subject, facts, atoms, against):
                    atoms.update(atoms_of(rule, subject))
    return frozenset(atoms)


def _cycle(rules: Mapping[str, Rule], facts: Facts, least: Atoms, most: Atoms) -> Fault:
    rule = next(
        rule
        for _, rule in sorted(rules.items())
        if any(fires(rule, s, facts, most, least) and not set(atoms_of(rule, s)) <= least for s in facts.of(rule.each))
    )
    found = f"whether rule `{rule.name}` fires depends on its not firing"
    return Fault("cycle", found, place=rule.place, field=rule.name)
