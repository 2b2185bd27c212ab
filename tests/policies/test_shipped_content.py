"""What must hold of the shipped policies, whatever their numbers are."""

import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from airwarrant.errors import PolicyError
from airwarrant.evaluate import Evaluator
from airwarrant.job.dictionary import KINDS
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy, WhereClause
from airwarrant.policy.steering import STEERING

POLICIES = Path(__file__).resolve().parents[2] / "policies"
MARKETS = sorted(p.stem for p in (POLICIES / "markets").glob("*.toml"))
HAZARDS = {"open_draft", "same_space_as_flame", "suspect_asbestos", "moisture"}
DATES = dict.fromkeys(("survey", "proposal", "permit"), date(2026, 7, 1))


@pytest.fixture(scope="module", params=MARKETS)
def policy(request: pytest.FixtureRequest) -> Policy:
    return compose(POLICIES, request.param, DATES)


def _blocks() -> list[dict[str, Any]]:
    out: list[dict[str, Any]] = []
    for file in sorted(POLICIES.glob("*/**/2*/*.toml")):
        data = tomllib.loads(file.read_text())
        for kind in ("parameter", "table"):
            out += data.get(kind, {}).values()
        out += data.get("rule", [])
    return out


def test_every_reading_has_its_plus_or_minus_in_exactly_one_table(policy: Policy) -> None:
    rows = [row[0] for name, table in policy.tables.items() if name.startswith("plus_minus_") for row in table.rows]
    # What the air model derives carries its own.
    readings = {
        f.name for k in KINDS.values() for f in k.fields.values() if f.form == "reading" and f.section != "derived"
    }
    assert sorted(rows) == sorted(readings)


def test_a_hazard_that_is_asked_for_is_asked_for_with_its_unknown(policy: Policy) -> None:
    for rule in policy.rules.values():
        clauses = [*rule.when, *rule.any, *rule.unless]
        words = [*rule.where, *(pair for c in clauses if isinstance(c, WhereClause) for pair in c.where)]
        for field, asked in words:
            if field in HAZARDS and "yes" in asked:
                assert "unknown" in asked, rule.name


def test_every_task_hold_stop_and_caution_is_said_in_both_languages(policy: Policy) -> None:
    named = {t.named or rule.name for rule in policy.rules.values() for t in rule.then if t.what == "hold"}
    named |= {t.name for rule in policy.rules.values() for t in rule.then if t.what in ("stop", "caution")}
    named |= set(policy.tasks)
    unsaid = {name for name in named if {"en", "es"} - set(policy.said.get(name, {}))}
    assert not unsaid


def test_every_hold_and_retest_says_when(policy: Policy) -> None:
    for rule in policy.rules.values():
        assert all(t.when for t in rule.then if t.what in ("hold", "retest")), rule.name


def test_a_published_basis_is_written_out() -> None:
    for block in _blocks():
        basis = block.get("basis", {})
        if basis.get("kind") == "published":
            assert len(basis["cite"]) > 20
            assert basis["edition"]


def test_every_task_that_moves_air_waits_for_the_first_measurement(policy: Policy) -> None:
    moves_air = {"replace-elbow", "new-supply-plenum", "new-return-plenum", "add-return", "upsize-return"}
    moves_air |= {"enlarge-filter-grille", "replace-flex-run", "balancing-damper", "balance-rooms", "bedroom-return"}
    moves_air |= {"repair-return", "remove-bypass"}
    assert moves_air == {name for name, task in policy.tasks.items() if "airflow" in task.groups}
    measure = policy.rules["trust.measure-first"]
    assert measure.authority == "safety"
    assert [then.name for then in measure.then if then.what == "hold"] == ["group:airflow"]


def test_a_policy_without_what_every_evaluation_reads_is_refused_with_each_name(policy: Policy) -> None:
    bare = replace(policy, parameters={n: p for n, p in policy.parameters.items() if n not in STEERING})
    with pytest.raises(PolicyError) as caught:
        Evaluator(bare)
    assert len(caught.value.faults) == len(STEERING)
