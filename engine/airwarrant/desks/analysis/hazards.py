"""Hazards of the house that rules ask for when they are there, and never when nobody looked."""

from collections.abc import Iterator

from airwarrant.errors import Fault
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, UNKNOWN
from airwarrant.job.words_house import HAZARDS
from airwarrant.policy.model import Clause, FactClause, ManyClause, Policy, Rule, WhereClause, Words
from airwarrant.source.place import Place

YES = "yes"
#: `yes` is the hazard in all but these.
_SAFE_WHEN_YES = ("attic_floor",)
HAZARDOUS = tuple(field.name for field in HAZARDS if YES in field.words and field.name not in _SAFE_WHEN_YES)


def hazards_unknown(policy: Policy) -> Iterator[Fault]:
    """Yield an error for each hazard that some rule asks for as `yes` while no rule fires on `unknown`."""
    for field in HAZARDOUS:
        words = KINDS[HOUSE_KEY].fields[field].words
        yes: list[tuple[Place, Rule]] = []
        known = False
        for rule in policy.rules.values():
            for place, held in _asked(rule, field, words):
                known = known or UNKNOWN in held
                if YES in held:
                    yes.append((place, rule))
        if yes and not known:
            place, rule = min(yes, key=lambda one: one[0])
            found = f'rule `{rule.name}` asks for {field} = "yes", and no rule for "unknown": what nobody looked at counts as safe'
            advice = f'A job without `{field}` gets no stop, hold or caution. Ask for ["yes", "unknown"], or let a rule hold on "unknown".'
            yield Fault("hazard-unknown", found, 'a rule for "unknown" too', place, rule.name, advice)


def _asked(rule: Rule, field: str, words: tuple[str, ...]) -> Iterator[tuple[Place, frozenset[str]]]:
    """Words of a hazard with which a rule may fire, clause by clause."""
    if rule.each == HOUSE_KEY:
        yield from ((rule.place, held) for held in _of(rule.where, field))
    for part, clauses in (("when", rule.when), ("any", rule.any), ("unless", rule.unless)):
        for index, clause in enumerate(clauses):
            place = rule.clause_places.get((part, index), rule.place)
            for held in _of(_where(clause, rule.each), field):
                barred = (part == "unless") is not (isinstance(clause, ManyClause) and clause.quantifier == "none")
                yield place, frozenset(words) - held if barred else held


def _where(clause: Clause, each: str) -> Words:
    match clause:
        case WhereClause(where) if each == HOUSE_KEY:
            return where
        case ManyClause() | FactClause() if clause.kind == HOUSE_KEY:
            return clause.where
        case _:
            return ()


def _of(where: Words, field: str) -> Iterator[frozenset[str]]:
    return (frozenset(held) for name, held in where if name == field)
