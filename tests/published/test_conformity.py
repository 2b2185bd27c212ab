"""Probability of conformity and the ± of figures, against values from outside the project."""

import random
import statistics

import pytest

from airwarrant.calculations.figures import take_step
from airwarrant.calculations.verdict import compare, probability


@pytest.mark.parametrize(
    ("value", "limit", "standard_uncertainty", "expected"),
    [
        # Standard normal distribution function at 2, 1, -1: any handbook's table.
        (2.0, 3.0, 0.5, 0.9772),
        (2.5, 3.0, 0.5, 0.8413),
        (3.5, 3.0, 0.5, 0.1587),
        # JCGM 106:2012, worked example of conformance probability, upper limit -5.40, reading -5.47, u 0.05: 0.92.
        # From memory of the Guide; the figure is the normal integral at 1.4.
        (-5.47, -5.40, 0.05, 0.9192),
    ],
)
def test_probability_of_conformity(value: float, limit: float, standard_uncertainty: float, expected: float) -> None:
    # Tolerance: the sources print four decimals.
    assert probability(limit - value, 2.0 * standard_uncertainty) == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(("guard", "expected"), [(0.842, 0.80), (1.282, 0.90), (1.645, 0.95), (1.960, 0.975)])
def test_guard_bands(guard: float, expected: float) -> None:
    # Quantiles of the standard normal distribution, any handbook's table: a guard band of so many standard
    # uncertainties conforms with that probability. Quantiles are printed to three decimals: 2e-4.
    assert probability(guard, 2.0) == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize(
    ("step", "parts"),
    [
        ("ratio_of", [(1013.0, 101.0), (3.5, 0.0)]),
        ("share_of", [(190.0, 15.0), (1400.0, 20.0)]),
        ("sum_of", [(0.48, 0.03), (0.38, 0.03)]),
        ("difference_of", [(85.1, 1.0), (78.0, 1.0)]),
        ("product_of", [(3.5, 0.1), (400.0, 10.0)]),
    ],
)
def test_the_doubt_of_a_figure_is_what_random_readings_scatter(step: str, parts: list[tuple[float, float]]) -> None:
    # Oracle: JCGM 101:2008, propagation of distributions by Monte Carlo; 20,000 seeded draws scatter their own standard
    # deviation by half a percent, and the steps are linear to a percent at these ±: 3 % covers both.
    rng = random.Random(7)
    draws = []
    for _ in range(20_000):
        drawn = take_step(step, [(rng.gauss(v, d / 2.0), 0.0) for v, d in parts])
        assert drawn is not None
        draws.append(drawn[0])
    made = take_step(step, parts)
    assert made is not None
    assert made[1] == pytest.approx(2.0 * statistics.stdev(draws), rel=0.03)


def test_close_excludes_the_ends_of_the_band() -> None:
    assert compare(0.56, 0.60, "at most", 0.04, "in. w.c.") == "pass"
    assert compare(0.561, 0.60, "at most", 0.04, "in. w.c.") == "close"
    assert compare(0.64, 0.60, "at most", 0.04, "in. w.c.") == "fail"
    assert compare(15.4, 15.0, "below", 1.0, "Pa") == "close"


@pytest.mark.parametrize(
    ("must_be", "at_the_limit"), [("at most", "pass"), ("at least", "pass"), ("below", "fail"), ("above", "fail")]
)
def test_a_number_at_its_limit(must_be: str, at_the_limit: str) -> None:
    assert compare(0.1 + 0.2, 0.3, must_be, 0.0, "in. w.c.") == at_the_limit  # type: ignore[arg-type]


def test_doubt_against_counts_close_as_fail_and_ignore_lets_the_value_decide() -> None:
    assert compare(-2.9, -3.0, "at least", 0.5, "Pa", "against") == "fail"
    assert compare(-2.9, -3.0, "at least", 0.5, "Pa", "ignore") == "pass"
    assert compare(-2.9, -3.0, "at least", 0.5, "Pa") == "close"


def test_a_ratio_to_nothing_has_no_answer() -> None:
    assert take_step("ratio_of", [(1.0, 0.1), (0.0, 0.1)]) is None
