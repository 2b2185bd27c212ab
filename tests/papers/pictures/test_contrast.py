"""Colours against the paper, by the published formula."""

import pytest

from airwarrant.papers.pictures.palette import DECORATION, DUCT_TINT, MARKS, PAPER, PREDICTED_TINT, TEXTS


def luminance(colour: str) -> float:
    # Web Content Accessibility Guidelines (WCAG) 2.2, W3C Recommendation 2023, definition of relative luminance; from memory.
    parts = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    # WCAG 2.2, definition of contrast ratio: (L1 + 0.05) / (L2 + 0.05), L1 the lighter.
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_the_known_ends() -> None:
    # Black on white is 21:1 by definition; #767676 is widely quoted as the lightest grey with 4.5:1 on white (4.54), from memory.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert contrast("#777777", "#ffffff") < 4.5


@pytest.mark.parametrize("colour", TEXTS)
def test_text_has_four_and_a_half_to_one(colour: str) -> None:
    # Success criterion 1.4.3, level AA.
    assert contrast(colour, PAPER) >= 4.5


@pytest.mark.parametrize("colour", MARKS)
def test_marks_have_three_to_one_on_all_they_lie_on(colour: str) -> None:
    # Success criterion 1.4.11, level AA.
    for ground in (PAPER, DUCT_TINT, PREDICTED_TINT):
        assert contrast(colour, ground) >= 3.0


def test_a_decoration_is_told_from_no_mark_by_luminance_alone() -> None:
    assert min(map(luminance, DECORATION)) > 3.0 * max(map(luminance, MARKS))
