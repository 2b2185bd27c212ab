"""How a rule stands at a place: checked against the reference evaluator with the clause in question taken out of the rule."""

from dataclasses import replace

import pytest

from airwarrant.desks.near_misses import ALL, Part, parts_of, standing, standings
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import read_job
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Rule
from airwarrant.rules.facts import Facts, Subject
from airwarrant.rules.reference import fires
from airwarrant.run import Run
from jobs import JOBS, POLICIES, SCENARIOS


def _run(job: str) -> Run:
    record = read_job(SCENARIOS / f"job-{job}.toml")
    with Evaluator(compose(POLICIES, record.market, record.dates), detail=False) as evaluator:
        return evaluator.run(record)


def _facts(run: Run) -> Facts:
    kinds: dict[str, list[Subject]] = {}
    for subject in run.subjects.values():
        kinds.setdefault(subject.kind, []).append(subject)
    before = run.rounds[-2].scoped if len(run.rounds) > 1 else ()
    carried = frozenset(line.partition("@")[0] for line in before)
    return Facts({k: tuple(v) for k, v in kinds.items()}, {k: v.word for k, v in run.verdicts.items()}, carried)


def _less(rule: Rule, part: Part) -> Rule:
    """The rule without one clause; without `any` as a whole."""
    name, which = part
    if name == "where":
        return replace(rule, where=tuple(one for one in rule.where if one[0] != which))
    clauses = () if which == ALL else tuple(c for i, c in enumerate(getattr(rule, name)) if i != which)
    return replace(rule, **{name: clauses})


@pytest.mark.parametrize("job", JOBS)
def test_with_one_clause_against_it_the_rule_fires_without_that_clause_and_else_without_none(job: str) -> None:
    run = _run(job)
    facts, atoms = _facts(run), run.outcome.atoms
    seen = 0
    for one in standings(run):
        rule, subject = run.policy.rules[one.rule], run.subjects[one.subject]
        assert fires(rule, subject, facts, atoms, atoms) is (not one.against)
        parts = {*parts_of(rule), ("any", ALL)} if rule.any else set(parts_of(rule))
        for part in parts if one.against else ():
            freed = fires(_less(rule, part), subject, facts, atoms, atoms)
            # One alternative of `any` left out never makes a rule fire.
            assert freed is (one.against == (part,)), (one, part)
            seen += freed
    assert seen > 20


@pytest.mark.parametrize("job", JOBS)
def test_a_rule_carried_by_one_alternative_does_not_fire_without_it(job: str) -> None:
    run = _run(job)
    facts, atoms = _facts(run), run.outcome.atoms
    for one in standings(run):
        rule, subject = run.policy.rules[one.rule], run.subjects[one.subject]
        for index in range(len(rule.any)) if not one.against else ():
            left = _less(rule, ("any", index))
            still = bool(left.any) and fires(left, subject, facts, atoms, atoms)
            assert still is (one.alone != ("any", index))


def test_a_place_of_another_kind_has_no_standing() -> None:
    run = _run("5560")
    assert standing(run, "find.elbow", "house") is None
    assert standing(run, "scope.undercut", "hall") is not None
