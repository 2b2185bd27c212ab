"""Kinds that no rule speaks of, and values that one region alone does not set, are those that an SMT solver finds.

Oracle: z3. It is told what each policy at random holds, as facts about kinds, layers and names, and asked for every kind, or layer and
name, of which the sentence of the owner's guide is true; it is told nothing of how the analysis searches.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import Any

import pytest
import z3
from random_policies import random_policy

from airwarrant.desks.analysis.covered import kind_gaps, region_gaps, set_by_region
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Clause, FactClause, ManyClause, Overridden, Parameter, Policy, Sourced
from airwarrant.source.place import Place
from jobs import POLICIES

SHIPPED = compose(POLICIES, "clay-hollow", {})
SEEDS = range(8)
EACH = 25
HERE = Place("x.toml", 1, 1)
REGIONS = ("regions/a", "regions/b", "regions/c", "regions/d", "regions/e")
NAMES = tuple(f"value_{number}" for number in range(6))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_kind_is_passed_over_just_where_the_solver_finds_nothing_that_speaks_of_it(seed: int) -> None:
    random = Random(seed)
    for _ in range(EACH):
        policy = _about_kinds(random)
        assert {fault.field for fault in kind_gaps(policy)} == _unspoken(policy), policy.rules


@pytest.mark.parametrize("seed", SEEDS)
def test_a_region_has_a_gap_just_where_the_solver_finds_all_others_setting_the_value(seed: int) -> None:
    random, some = Random(seed), 0
    for _ in range(EACH):
        regions = random.sample(REGIONS, random.randint(1, len(REGIONS)))
        policies = [_of_region(random, layer) for layer in regions]
        held = {layer: (HERE, set_by_region(one)[layer]) for layer, one in zip(regions, policies, strict=True)}
        found = {(fault.found.split("`")[1], fault.field) for fault in region_gaps(held)}
        expected = _lacking(regions, policies)
        assert found == expected, [one.parameters for one in policies]
        some += bool(expected)
    assert some > 0


def _about_kinds(random: Random) -> Policy:
    """A policy at random whose rules, checks and clauses are moved to kinds at random."""
    policy, kinds = random_policy(SHIPPED, random), random.sample(list(KINDS), random.randint(1, len(KINDS)))

    def moved(clause: Clause) -> Clause:
        if random.random() < 0.2:
            return FactClause(random.choice(kinds), (("id", "id"),))
        return replace(clause, kind=random.choice(kinds)) if isinstance(clause, ManyClause) else clause

    rules = {
        name: replace(
            rule, each=random.choice(kinds), when=tuple(map(moved, rule.when)), any=tuple(map(moved, rule.any)),
            unless=tuple(map(moved, rule.unless)),
        )
        for name, rule in policy.rules.items()
    }  # fmt: skip
    checks = {name: replace(check, each=random.choice(kinds)) for name, check in policy.checks.items()}
    return replace(policy, rules=rules, checks=checks)


def _unspoken(policy: Policy) -> set[str]:
    """Kinds for which no rule is for each, no check judges, and no clause asks for one; every job has a house."""
    kind, names = z3.Int("kind"), list(KINDS)
    solver = z3.Solver()
    solver.add(kind >= 0, kind < len(names), kind != names.index(HOUSE_KEY))
    for rule in policy.rules.values():
        solver.add(kind != names.index(rule.each))
        for clause in (*rule.when, *rule.any, *rule.unless):
            if isinstance(clause, ManyClause | FactClause):
                solver.add(kind != names.index(clause.kind))
    for check in policy.checks.values():
        solver.add(kind != names.index(check.each))
    return {names[one] for (one,) in _models(solver, (kind,))}


def _of_region(random: Random, layer: str) -> Policy:
    """A market's policy whose values are set by the trade and, some of them, by its region and its company, in that order."""

    def value(name: str) -> Parameter:
        setters = ["trade"] + [one for one in (layer, "companies/x") if random.random() < 0.7]
        *before, last = setters
        overrode = tuple(Overridden(1.0, one, HERE) for one in before)
        return Parameter(
            name, HERE, last, {"value": Sourced(1.0, last, HERE, overrode)}, value=1.0, unit="1", title=name, edit="company", basis={}
        )  # fmt: skip

    market = replace(SHIPPED.market, layers=("trade", layer, "companies/x"))
    return replace(SHIPPED, market=market, parameters={name: value(name) for name in NAMES}, tables={})


def _lacking(regions: Sequence[str], policies: Sequence[Policy]) -> set[tuple[str, str]]:
    """Layer and name where the layer has no say in the name, two others or more there are, and all of them have one."""
    says = z3.Function("says", z3.IntSort(), z3.IntSort(), z3.BoolSort())
    layer, name, other = z3.Ints("layer name other")
    solver = z3.Solver()
    for number, (region, policy) in enumerate(zip(regions, policies, strict=True)):
        for at, held in enumerate(NAMES):
            solver.add(says(number, at) == z3.BoolVal(_has_say(policy.parameters[held].keys, region)))
    is_other = z3.And(other >= 0, other < len(regions), other != layer)
    solver.add(layer >= 0, layer < len(regions), name >= 0, name < len(NAMES), z3.Not(says(layer, name)))
    solver.add(z3.ForAll([other], z3.Implies(is_other, says(other, name))))
    solver.add(z3.Sum([z3.If(layer != number, 1, 0) for number in range(len(regions))]) >= 2)
    return {(regions[one], NAMES[at]) for one, at in _models(solver, (layer, name))}


def _has_say(keys: Mapping[str, Sourced], layer: str) -> bool:
    return any(layer in (key.layer, *(old.layer for old in key.overrode)) for key in keys.values())


def _models(solver: z3.Solver, unknown: tuple[Any, ...]) -> Iterator[tuple[int, ...]]:
    """Every way to fill in the unknowns."""
    while solver.check() == z3.sat:
        model = solver.model()
        filled = tuple(model.eval(one, model_completion=True).as_long() for one in unknown)
        yield filled
        solver.add(z3.Or([one != value for one, value in zip(unknown, filled, strict=True)]))
