"""What a blower's curve must hold."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from airwarrant.air.blower_curve import BlowerCurve, CurveError

falls = st.lists(st.tuples(st.floats(1.0, 60.0), st.sampled_from([0.0, 0.01, 0.1, 0.3])), min_size=2, max_size=9)


def rows_of(steps: list[tuple[float, float]]) -> list[tuple[float, float]]:
    static, flow, rows = 10.0, 1.0, []
    for width, fall in steps:
        rows.append((static, flow))
        static, flow = static + width, flow * (1.0 - fall)
    return rows


@settings(max_examples=40, deadline=None)
@given(falls)
def test_scipys_pchip_gives_the_same_between_the_rows(steps: list[tuple[float, float]]) -> None:
    rows = rows_of(steps)
    curve = BlowerCurve.of_rows(rows)
    statics = np.linspace(rows[0][0], rows[-1][0], 101)
    flows, slopes = curve.flows_and_slopes(statics)
    theirs = PchipInterpolator(*zip(*rows, strict=True))
    assert np.allclose(flows, theirs(statics), rtol=1e-11)
    assert np.allclose(slopes, theirs(statics, 1), rtol=1e-9, atol=1e-12)


@settings(max_examples=40, deadline=None)
@given(falls)
def test_flow_never_rises_with_static_never_falls_below_none_and_one_by_one_equals_all_at_once(
    steps: list[tuple[float, float]],
) -> None:
    curve = BlowerCurve.of_rows(rows_of(steps))
    statics = np.linspace(-100.0, 1000.0, 501)
    flows, slopes = curve.flows_and_slopes(statics)
    assert np.all(np.diff(flows) <= 1e-12)
    assert np.all(flows >= 0.0)
    assert np.all(slopes <= 0.0)
    alone = np.array([curve.flow_and_slope(float(s)) for s in statics])
    assert np.array_equal(alone[:, 0], flows)
    assert np.array_equal(alone[:, 1], slopes)


def test_a_plateau_is_exactly_flat() -> None:
    curve = BlowerCurve.of_rows([(10.0, 0.5), (20.0, 0.5), (50.0, 0.5), (60.0, 0.4)])
    assert curve.flow_and_slope(33.3) == (0.5, 0.0)


def test_beyond_the_table_lies_a_straight_line_down_to_no_flow() -> None:
    curve = BlowerCurve.of_rows([(10.0, 1.0), (20.0, 0.9)])
    assert curve.flow_and_slope(0.0) == pytest.approx((1.1, -0.01))
    assert curve.flow_and_slope(60.0) == pytest.approx((0.5, -0.01))
    assert curve.flow_and_slope(500.0) == (0.0, 0.0)
    assert [curve.beyond(s) for s in (5.0, 10.0, 15.0, 20.0, 45.0)] == pytest.approx([0.5, 0.0, 0.0, 0.0, 2.5])


def test_scaling_multiplies_flow_and_slope_and_leaves_statics() -> None:
    curve = BlowerCurve.of_rows([(10.0, 1.0), (20.0, 0.9), (30.0, 0.5)])
    for static in (5.0, 12.0, 25.0, 33.0):
        flow, slope = curve.flow_and_slope(static)
        assert curve.scaled(1.1).flow_and_slope(static) == pytest.approx((1.1 * flow, 1.1 * slope))
    with pytest.raises(CurveError):
        curve.scaled(0.0)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([(10.0, 1.0)], "two rows"),
        ([(10.0, 1.0), (20.0, 1.1)], "rise"),
        ([(10.0, 1.0), (10.0, 0.9)], "one static"),
        ([(10.0, 1.0), (20.0, -0.1)], "below 0"),
        ([(10.0, float("nan")), (20.0, 0.9)], "finite"),
    ],
)
def test_a_table_that_cannot_be_a_blowers_is_refused(rows: list[tuple[float, float]], says: str) -> None:
    with pytest.raises(CurveError, match=says):
        BlowerCurve.of_rows(rows)
