"""What an unread value is worth: the total with either answer, against the job evaluated with that answer in its record."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
import tomli_w

from airwarrant.desks.gaps import Gaps, Missing, gaps
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import parse_job
from airwarrant.policy.compose import compose
from airwarrant.run import Run
from jobs import JOBS, POLICIES, data

LEAKAGE = ("leakage_25", "leakage_return_25", "leakage_supply_25", "unit_temp")


@pytest.fixture(scope="module")
def evaluators() -> Iterator[dict[str, Evaluator]]:
    made: dict[str, Evaluator] = {}
    yield made
    for one in made.values():
        one.close()


def run_of(evaluators: dict[str, Evaluator], record: dict[str, Any]) -> Run:
    parsed = parse_job(tomli_w.dumps(record).encode(), "job.toml")
    if parsed.market not in evaluators:
        policy = compose(POLICIES, parsed.market, parsed.dates)
        evaluators[parsed.market] = Evaluator(policy, detail=False)
    return evaluators[parsed.market].run(parsed)


def amount(run: Run) -> Decimal:
    assert run.prices is not None
    found = run.prices.total().amount
    assert found is not None
    return found


def missing(found: Gaps, name: str) -> Missing:
    return next(one for one in found.missing if one.name == name)


def test_the_totals_are_those_of_the_job_with_either_answer(evaluators: dict[str, Evaluator]) -> None:
    """Job 1042 without its leakage test: with the reading it has, the whole job evaluated, sealing comes in at its price."""
    record = data("1042")
    for name in LEAKAGE:
        del record["visit"][0][name]
    without = run_of(evaluators, record)
    one = missing(gaps(without), "leakage_25")
    assert one.total == (amount(without), amount(run_of(evaluators, data("1042"))))


def test_a_word_is_worth_what_the_job_comes_to_with_it(evaluators: dict[str, Evaluator]) -> None:
    record = data("1042")
    for name in LEAKAGE:
        del record["visit"][0][name]
    asked = gaps(run_of(evaluators, record))
    one = missing(asked, "sealing_asked")
    record["house"]["sealing_asked"] = "yes"
    with_it = amount(run_of(evaluators, record))
    assert one.total is not None
    assert with_it in one.total


@pytest.mark.parametrize("job", JOBS)
def test_money_ranks_after_lines_and_the_most_is_named(evaluators: dict[str, Evaluator], job: str) -> None:
    found = gaps(run_of(evaluators, data(job)))
    order = [(-len(one.asked_by), -len(one.lines), -one.money) for one in found.missing]
    assert order == sorted(order)
    most = found.most_money
    assert most is not None
    assert most.money == max(one.money for one in found.missing) > 0
    assert all(one.total is None for one in found.missing if not set(one.lines) - {"proposal"})
