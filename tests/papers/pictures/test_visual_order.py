"""Text from right to left, as it is seen."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwarrant.papers.pictures.characters import clean
from airwarrant.papers.pictures.visual_order import seen


@pytest.mark.parametrize(
    ("written", "shown"),
    # Made with python-bidi 0.6.12 (Unicode Bidirectional Algorithm) over arabic-reshaper 3.1.0, both from PyPI; 400 texts of such
    # words in random order, numbers and brackets among them, came out the same.
    [
        ("\u063a\u0631\u0641\u0629", "\ufe94\ufed3\ufeae\ufecf"),
        ("\u0627\u0644\u0637\u0627\u0628\u0642 (12) \u0644\u0627", "\ufefb (12) \ufed6\ufe91\ufe8e\ufec4\ufedf\ufe8d"),
        ("Bed \u063a\u0631\u0641\u0629 3.5 room", "Bed 3.5 \ufe94\ufed3\ufeae\ufecf room"),
        ("\u05d7\u05d3\u05e8 12 (\u05e7\u05d8\u05df)", "(\u05df\u05d8\u05e7) 12 \u05e8\u05d3\u05d7"),
        ("\u067e\u0646\u062c\u0631\u0647, \u06af\u0686", "\ufb7b\ufb94 ,\ufee9\ufeae\ufea0\ufee8\ufb58"),
        ("2-3 \u05d7\u05d3\u05e8", "\u05e8\u05d3\u05d7 2-3"),
        ("\u0627\u0644\u0644\u0647 2-3", "3-2 \ufeea\ufee0\ufedf\ufe8d"),
    ],
)
def test_what_is_written_from_right_to_left_is_shown_as_it_is_seen(written: str, shown: str) -> None:
    assert seen(written) == shown


@given(st.text(st.characters(max_codepoint=0x52F)))
def test_text_from_left_to_right_is_left_alone(text: str) -> None:
    assert seen(text) == text


@given(st.text(st.sampled_from("\u05d0\u05d1\u0627\u0644\u0645\u0631\u064e\u0640 ab12.,-()\u00ab\u00bb"), max_size=20))
def test_no_letter_is_lost_or_added(text: str) -> None:
    # Compatibility decomposition (Unicode Standard Annex 15) undoes the joined forms; brackets are mirrored, not lost.
    line = clean(text)

    def letters(of: str) -> list[str]:
        return sorted(c for c in unicodedata.normalize("NFKC", of) if c not in "()\u00ab\u00bb")

    assert letters(seen(line)) == letters(line)
    assert len([c for c in seen(line) if c in "()"]) == len([c for c in line if c in "()"])
