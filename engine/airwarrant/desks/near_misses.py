"""How a rule stands at a place: what is against its firing there, clause by clause."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from airwarrant.policy.model import Rule
from airwarrant.rules.facts import Facts, Subject
from airwarrant.rules.reference import holds
from airwarrant.rules.walk import Walked
from airwarrant.run import Run

#: A clause of a rule: ``("where", field)``, ``("when", 0)``, ``("unless", 0)``, ``("any", 0)``; all of `any` is ``("any", "all")``.
Part = tuple[str, str | int]
ALL = "all"


@dataclass(frozen=True, slots=True)
class Standing:
    """A rule at a place.

    `against` holds every clause that keeps the rule from firing there, `any` as one; `alone` the one alternative of `any`
    that carries the rule, where it fires by one only.
    """

    rule: str
    subject: str
    against: tuple[Part, ...]
    alone: Part | None

    def text(self) -> str:
        return ", ".join(part_text(part) for part in self.against)


def part_text(part: Part) -> str:
    """A clause as an owner finds it: ``where.use``, ``when[0]``, ``any``."""
    name, which = part
    if name == "where":
        return f"where.{which}"
    return name if which == ALL else f"{name}[{which}]"


def parts_of(rule: Rule) -> tuple[Part, ...]:
    """Every clause of a rule, each field of its own `where` and each alternative as one."""
    return (
        *(("where", field) for field, _ in rule.where),
        *(("when", index) for index in range(len(rule.when))),
        *(("any", index) for index in range(len(rule.any))),
        *(("unless", index) for index in range(len(rule.unless))),
    )


def standings(run: Run) -> Iterator[Standing]:
    """How every rule stands at every place that it speaks of, or would but for one field of its `where`."""
    facts = facts_of(run)
    for walked in run.walked:
        rule = run.policy.rules[walked.rule]
        if walked.where_ok:
            yield _walked(walked)
        elif len(walked.where) == 1:
            against = _against(rule, run.subjects[walked.subject], facts, run)
            yield Standing(walked.rule, walked.subject, (("where", walked.where[0][0]), *against), None)


def standing(run: Run, rule: str, subject: str) -> Standing | None:
    """How one rule stands at one place; None where the place is of another kind."""
    found = next((w for w in run.walked if (w.rule, w.subject) == (rule, subject)), None)
    if found is None or found.where_ok:
        return _walked(found) if found else None
    against = _against(run.policy.rules[rule], run.subjects[subject], facts_of(run), run)
    return Standing(rule, subject, (*(("where", field) for field, _ in found.where), *against), None)


def _walked(walked: Walked) -> Standing:
    failed: list[Part] = []
    alternatives = [(c.index, c.holds) for c in walked.clauses if c.part == "any"]
    for clause in walked.clauses:
        if (clause.part == "when" and not clause.holds) or (clause.part == "unless" and clause.holds):
            failed.append((clause.part, clause.index))
    carrying = [index for index, there in alternatives if there]
    if alternatives and not carrying:
        failed.append(("any", ALL))
    alone: Part | None = ("any", carrying[0]) if walked.fired and len(carrying) == 1 else None
    return Standing(walked.rule, walked.subject, tuple(failed), alone)


def _against(rule: Rule, subject: Subject, facts: Facts, run: Run) -> Iterator[Part]:
    atoms = run.outcome.atoms
    for index, clause in enumerate(rule.when):
        if not holds(clause, subject, facts, atoms, atoms):
            yield "when", index
    if rule.any and not any(holds(clause, subject, facts, atoms, atoms) for clause in rule.any):
        yield "any", ALL
    for index, clause in enumerate(rule.unless):
        if holds(clause, subject, facts, atoms, atoms):
            yield "unless", index


def facts_of(run: Run) -> Facts:
    """What the rules read in the last round, from what the run kept."""
    kinds: dict[str, tuple[Subject, ...]] = {}
    for subject in sorted(run.subjects.values(), key=lambda one: one.key):
        kinds[subject.kind] = (*kinds.get(subject.kind, ()), subject)
    words: Mapping[tuple[str, str, str], str] = {key: verdict.word for key, verdict in run.verdicts.items()}
    before = run.rounds[-2].scoped if len(run.rounds) > 1 else ()
    return Facts(kinds, words, frozenset(line.rpartition("@")[0] for line in before))
