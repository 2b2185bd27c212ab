"""Round ticks, and places of numbers."""

from math import floor, log10

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwarrant.papers.pictures.axes import Scale, fitted, ticks
from airwarrant.papers.pictures.direct_labels import crosses
from airwarrant.papers.pictures.drawing import Box


def test_the_example_of_the_source_comes_out() -> None:
    # Heckbert, Graphics Gems (1990), opening example, from memory: data from 105 to 543 are best labelled from 100 to 600 in
    # hundreds.
    found = ticks(105.0, 543.0, 6)
    assert found.at == (100.0, 200.0, 300.0, 400.0, 500.0, 600.0)
    assert found.decimals == 0


NUMBERS = st.floats(-1e12, 1e12)


@given(NUMBERS, NUMBERS, st.integers(2, 10))
def test_ticks_are_round_evenly_apart_and_enclose_the_numbers(one: float, other: float, most: int) -> None:
    low, high = sorted((one, other))
    found = ticks(low, high, most)
    # Below 1e-9 all numbers are taken for zero.
    near = 1e-9 * max(abs(low), abs(high), 1.0)
    assert 2 <= len(found.at) <= max(most, 3)
    assert found.at[0] <= low + near
    assert found.at[-1] >= high - near
    steps = [b - a for a, b in zip(found.at, found.at[1:], strict=False)]
    assert steps == pytest.approx([steps[0]] * len(steps), rel=1e-6)
    leading = steps[0] / 10.0 ** floor(log10(steps[0]) + 1e-9)
    assert min(abs(leading - round_one) for round_one in (1.0, 2.0, 5.0)) < 1e-6


@given(NUMBERS, NUMBERS, st.integers(2, 10))
def test_ticks_are_told_apart_by_their_decimals(one: float, other: float, most: int) -> None:
    low, high = sorted((one, other))
    found = ticks(low, high, most)
    assert len({f"{at:.{found.decimals}f}" for at in found.at}) == len(found.at)
    assert "-0" not in {str(at) for at in found.at}


@pytest.mark.parametrize(("low", "high"), [(0.0, 0.0), (5.0, 5.0), (-3.0, -3.0), (0.1, 0.3)])
def test_numbers_all_alike_have_an_axis(low: float, high: float) -> None:
    found = ticks(low, high, 5)
    assert found.at[0] <= low <= high <= found.at[-1]
    assert found.at[0] < found.at[-1]


def test_fewer_ticks_where_labels_need_more_room() -> None:
    wide, _ = fitted((0.0, 100.0), 0.0, 300.0, 8, lambda _: 20.0)
    narrow, _ = fitted((0.0, 100.0), 0.0, 300.0, 8, lambda _: 120.0)
    assert len(narrow.at) < len(wide.at)
    assert 300.0 / (len(narrow.at) - 1) >= 120.0


def test_a_scale_is_straight_and_may_run_upwards() -> None:
    scale = Scale(-0.5, 0.5, 200.0, 100.0)
    assert [scale.at(v) for v in (-0.5, 0.0, 0.25, 0.5)] == pytest.approx([200.0, 150.0, 125.0, 100.0])


PLACE = st.floats(-50.0, 150.0)


@given(PLACE, PLACE, PLACE, PLACE)
def test_a_line_that_enters_a_box_is_seen(x1: float, y1: float, x2: float, y2: float) -> None:
    # The oracle walks along the line in small steps.
    box = Box(0.0, 0.0, 100.0, 60.0)
    walked = ((x1 + (x2 - x1) * i / 400.0, y1 + (y2 - y1) * i / 400.0) for i in range(401))
    if any(box.left < x < box.right and box.top < y < box.bottom for x, y in walked):
        assert crosses((x1, y1), (x2, y2), box)
    # Apart by more than rounding.
    off = 1e-6
    apart = max(x1, x2) < -off or min(x1, x2) > 100.0 + off or max(y1, y2) < -off or min(y1, y2) > 60.0 + off
    assert not (apart and crosses((x1, y1), (x2, y2), box))
