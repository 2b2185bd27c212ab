"""Reachable, shadowed and contradicting rules, and gaps of tables, of small policies at random are those that an SMT solver finds.

Oracle: z3, which is told the meaning of the rules and tables (`random_policies`) and nothing of how the analysis searches.
"""

from dataclasses import replace
from itertools import permutations
from random import Random

import pytest
import z3
from random_policies import Logic, random_policy

from airwarrant.desks.analysis.fires import Fires
from airwarrant.desks.analysis.tables import gaps_of
from airwarrant.desks.contradictions import contradictions
from airwarrant.job.dictionary import KINDS
from airwarrant.policy.access import row_of
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy, Table
from airwarrant.source.place import Place
from jobs import POLICIES

SHIPPED = compose(POLICIES, "clay-hollow", {})
SEEDS = range(12)
#: Policies of one seed; 12 seeds make 360.
EACH = 30


def _policies(seed: int) -> list[Policy]:
    random = Random(seed)
    return [random_policy(SHIPPED, random) for _ in range(EACH)]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_rule_is_unreachable_just_where_the_solver_finds_no_job(seed: int) -> None:
    dead = 0
    for policy in _policies(seed):
        logic, fires = Logic(policy), Fires(policy)
        for rule in policy.rules.values():
            possible = logic.possible(logic.any_of(rule))
            assert (fires.example(rule) is not None, fires.never(rule)) == (possible, not possible), (
                rule,
                policy.rules,
            )
            dead += not possible
    assert dead > 0


@pytest.mark.parametrize("seed", SEEDS)
def test_a_rule_shadows_another_just_where_the_solver_finds_no_job_without_it(seed: int) -> None:
    for policy in _policies(seed):
        logic, fires = Logic(policy), Fires(policy)
        for one, other in permutations(policy.rules.values(), 2):
            if one.each == other.each and logic.possible(logic.any_of(one)):
                assert fires.never(one, other) is not logic.possible(logic.without(one, other)), (
                    one,
                    other,
                    policy.rules,
                )


@pytest.mark.parametrize("seed", SEEDS)
def test_rules_contradict_each_other_just_where_the_solver_finds_a_job_with_both(seed: int) -> None:
    for policy in _policies(seed):
        logic = Logic(policy)
        expected = {
            (asks.name, declines.name)
            for asks, declines in permutations(policy.rules.values(), 2)
            if (asks.then[0].what, declines.then[0].what) == ("line", "decline")
            and asks.authority == declines.authority
            and logic.possible(logic.both(asks, declines))
        }
        assert {(one.asks.name, one.declines.name) for one in contradictions(policy)} == expected, policy.rules


def _table(random: Random) -> Table:
    keys = sorted(random.sample([0.5 * step for step in range(1, 41)], random.randint(1, 5)))
    return Table(
        "t", Place("t.toml", 1, 1), "trade", {}, rows=tuple((key, 1.0) for key in keys), by="tons", by_unit="ton", unit="in",
        title="T", edit="company", basis={}, between=random.choice(("next-row", "last-row-at-or-below", "no-answer")),
        below_first=random.choice(("first-row", "no-answer")), above_last=random.choice(("last-row", "no-answer")),
    )  # fmt: skip


def test_a_table_has_a_gap_just_where_the_solver_finds_a_number_without_an_answer() -> None:
    random, field = Random(20260101), KINDS["house"].fields["tons"]
    assert field.hard is not None
    found = 0
    for _ in range(400):
        table = _table(random)
        keys = [float(key) for key, _ in table.rows]
        tons = z3.Real("tons")
        answers = [tons == key for key in keys]
        if table.between != "no-answer":
            answers.append(z3.And(tons > keys[0], tons < keys[-1]))
        if table.below_first == "first-row":
            answers.append(tons < keys[0])
        if table.above_last == "last-row":
            answers.append(tons > keys[-1])
        solver = z3.Solver()
        solver.add(tons >= field.hard[0], tons <= field.hard[1], z3.Not(z3.Or(answers)))
        gaps = gaps_of(table, field)
        assert bool(gaps) is (solver.check() == z3.sat), table
        for gap in gaps:
            assert not isinstance(gap, str)
            assert field.hard[0] <= gap <= field.hard[1]
            assert row_of(table.rows, gap, table.between, table.below_first, table.above_last) is None
        found += bool(gaps)
    assert 50 < found < 350


def test_a_table_by_word_has_a_gap_for_each_word_without_a_row() -> None:
    field = KINDS["house"].fields["form"]
    rows = tuple((word, 1.0) for word in field.words if word not in ("unknown", "split-attic"))
    table = replace(_table(Random(1)), by="form", by_unit="", rows=rows)
    assert gaps_of(table, field) == ("split-attic",)
