"""The word of a check is that of numbers rounded to their unit's fixed decimals, wherever they lie about the limit.

Oracle: Python's ``decimal``, whose rounding half to even is that of the General Decimal Arithmetic Specification.
"""

from decimal import ROUND_HALF_EVEN, Decimal
from random import Random
from typing import get_args

import pytest

from airwarrant.calculations.verdict import Sense, compare
from airwarrant.units import UNITS

DOUBTS = ("retest", "against", "ignore")


def rounded(value: float, unit: str) -> Decimal:
    return Decimal(f"{value:.12g}").quantize(Decimal(1).scaleb(-UNITS[unit].decimals), ROUND_HALF_EVEN)


def word(value: float, limit: float, must_be: str, band: float, unit: str, doubt: str) -> str:
    v, bound, width = (rounded(number, unit) for number in (value, limit, band))
    if doubt != "ignore" and abs(v - bound) < width:
        return "fail" if doubt == "against" else "close"
    meets = {"at most": v <= bound, "at least": v >= bound, "below": v < bound, "above": v > bound}[must_be]
    return "pass" if meets else "fail"


@pytest.mark.parametrize("unit", UNITS)
def test_the_word_is_that_of_the_rounded_numbers(unit: str) -> None:
    random, step = Random(unit), 10.0 ** -UNITS[unit].decimals
    words = set()
    for _ in range(1500):
        limit = random.choice(
            [0.0, random.uniform(-1e3, 1e3), round(random.uniform(-9, 9), 2), random.uniform(0, 1e13)]
        )
        band = random.choice([0.0, 0.5 * step, step, random.uniform(0, 5) * step, random.uniform(0, 100) * step])
        off = random.choice([0.0, step, -step, 0.5 * step, -0.5 * step, 2.0 * step, random.uniform(-3, 3) * step])
        value = limit + random.choice([0.0, 1.0, -1.0]) * band + random.choice([off, random.uniform(-1e3, 1e3)])
        must_be, doubt = random.choice(get_args(Sense)), random.choice(DOUBTS)
        asked = (value, limit, must_be, band, unit, doubt)
        assert compare(*asked) == word(*asked), asked
        words.add(compare(*asked))
    assert words == {"pass", "close", "fail"}
