"""The rating's cooling season."""

import pytest

from airwarrant.air.equipment import COOLING_BINS, load_fraction, mean_load_fraction

#: AHRI 210/240 (2008 to 2023; also 10 CFR 430 appendix M), fractional bin hours of the cooling season at 67 to 102 °F,
#: read in the source of the US Department of Energy's open whole-building simulation.
PRINTED = {67: 0.214, 72: 0.231, 77: 0.216, 82: 0.161, 87: 0.104, 92: 0.052, 97: 0.018, 102: 0.004}


def test_bins_are_the_printed_ones_and_sum_to_one() -> None:
    assert {round(t * 1.8 - 459.67): share for t, share in COOLING_BINS} == PRINTED
    assert sum(share for _, share in COOLING_BINS) == pytest.approx(1.0, abs=1e-9)


def test_mean_of_the_season() -> None:
    # Worked by hand: mean outdoor temperature 76.79 °F, mean of (T - 65)/30/1.1 0.35727; five figures.
    mean = sum(t * share for t, share in COOLING_BINS) * 1.8 - 459.67
    assert mean == pytest.approx(76.79, abs=5e-3)
    assert mean_load_fraction() == pytest.approx(0.35727, abs=5e-6)


def test_load_line() -> None:
    # Its definition: nothing at 65 °F and below, 1/1.1 at 95 °F.
    for fahrenheit, share in ((60.0, 0.0), (65.0, 0.0), (95.0, 1 / 1.1)):
        assert load_fraction((fahrenheit + 459.67) / 1.8) == pytest.approx(share, abs=1e-12)
