"""Money is exact until it is rounded, once and half up; against `fractions`, which knows no rounding."""

from decimal import Decimal
from fractions import Fraction
from math import floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwarrant.policy.price_reading import exact
from airwarrant.pricing.exact import (
    less_percent,
    money_text,
    more_percent,
    number_text,
    percent_of,
    product,
    rounded_quotient,
    total,
)

AMOUNTS = st.decimals(0, 10**9, places=6)
PERCENTS = st.decimals(0, "99.999", places=3)


@given(AMOUNTS, PERCENTS, st.sampled_from(["0.01", "1", "5", "25"]))
def test_a_price_is_the_whole_step_nearest_to_the_exact_quotient_half_up(
    cost: Decimal, margin: Decimal, step: str
) -> None:
    kept = less_percent(Decimal(1), margin)
    found = rounded_quotient(cost, kept, Decimal(step))
    wanted = floor(Fraction(cost) / Fraction(kept) / Fraction(step) + Fraction(1, 2)) * Fraction(step)
    assert Fraction(found) == wanted


@pytest.mark.parametrize(
    ("cost", "kept", "price"),
    [
        ("2.5", "1", 5),
        ("2.499999", "1", 0),
        ("7.5", "1", 10),
        ("1.3", "0.52", 5),
        ("1.299999", "0.52", 0),
        ("3.9", "0.52", 10),
    ],
)
def test_half_a_step_goes_up_however_the_quotient_is_written(cost: str, kept: str, price: int) -> None:
    assert rounded_quotient(Decimal(cost), Decimal(kept), Decimal(5)) == price


@given(st.lists(st.tuples(AMOUNTS, PERCENTS), min_size=1, max_size=6))
def test_sums_and_products_are_exact(parts: list[tuple[Decimal, Decimal]]) -> None:
    sums = total(more_percent(amount, percent) for amount, percent in parts)
    assert Fraction(sums) == sum(Fraction(a) * (1 + Fraction(p) / 100) for a, p in parts)
    assert Fraction(total(percent_of(a, p) for a, p in parts)) == sum(Fraction(a) * Fraction(p) / 100 for a, p in parts)
    product_of = Fraction(1)
    for amount, _ in parts:
        product_of *= Fraction(amount)
    assert Fraction(product(*(a for a, _ in parts))) == product_of


@given(st.decimals("0.000001", 10**8, places=6))
def test_a_number_of_a_policy_file_is_the_one_that_was_written(written: Decimal) -> None:
    """A text of up to fifteen digits survives a float (IEEE 754 binary64: 15 decimal digits hold both ways)."""
    assert exact(float(written)) == written


@pytest.mark.parametrize(
    ("amount", "text"),
    [("0", "0.00"), ("-0.00", "0.00"), ("5", "5.00"), ("5515", "5515.00"), ("87.5", "87.50"), ("317.6875", "317.6875"),
     ("-175", "-175.00"), ("1E+3", "1000.00")],
)  # fmt: skip
def test_an_amount_is_written_with_at_least_two_decimals_and_never_as_a_power(amount: str, text: str) -> None:
    assert money_text(Decimal(amount)) == text


def test_a_number_that_is_no_money_has_no_trailing_zeros() -> None:
    assert [number_text(Decimal(one)) for one in ("6.50", "100", "0.0", "1E+2", "-0")] == [
        "6.5",
        "100",
        "0",
        "100",
        "0",
    ]
