"""Text in pictures: widths, wrapping, and characters that XML cannot hold."""

from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwarrant.papers.pictures.characters import clean, clusters
from airwarrant.papers.pictures.fitting import ELLIPSIS, shortened, text_width, wrapped

# Helvetica, Adobe font metrics (the core 14 fonts of PDF), thousandths of an em; from memory. Arial has the same widths.
HELVETICA = {
    222: "ijl",
    260: "|",
    278: " !,./:;I[\\]ft",
    333: "()-`r",
    334: "{}",
    355: '"',
    389: "*",
    469: "^",
    500: "Jckstvxyz"[0:1] + "cksvxyz",
    556: "#$0123456789?L_abdeghnopqu",
    584: "+<=>~",
    611: "FTZ",
    667: "&ABEKPSVXY",
    722: "CDHNRUw",
    778: "GOQ",
    833: "Mm",
    889: "%",
    944: "W",
    1015: "@",
}


@pytest.mark.parametrize(("width", "characters"), HELVETICA.items())
def test_no_character_is_taken_for_narrower_than_in_helvetica(width: int, characters: str) -> None:
    for c in characters:
        assert text_width(c, 1000.0) >= width


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize(
    "text",
    [
        "Return duct, 14 in. — “tight”",
        "Añadir un retorno: 1.190–1.260 l/s, ±10 %",
        "Illicit lilting",
        "WAMM 0.86 ≤ 0.80",
    ],
)
def test_no_text_is_taken_for_narrower_than_a_font_draws_it(text: str, bold: bool) -> None:
    # The oracle is the advance widths in the font files, where this machine has them.
    fonts = pytest.importorskip("fontTools.ttLib")
    names = [
        f"dejavu/DejaVuSans{'-Bold' if bold else ''}.ttf",
        f"liberation/LiberationSans-{'Bold' if bold else 'Regular'}.ttf",
    ]
    files = [Path("/usr/share/fonts/truetype") / name for name in names]
    here = [file for file in files if file.exists()]
    if not here:
        pytest.skip("neither DejaVu nor Liberation is installed here")
    for file in here:
        font = fonts.TTFont(file)
        advance = sum(font["hmtx"][font.getBestCmap()[ord(c)]][0] for c in text) / font["head"].unitsPerEm
        assert text_width(text, 1.0, bold) >= advance


@given(st.text(), st.floats(20.0, 300.0), st.integers(1, 4))
def test_wrapped_text_keeps_its_room_and_loses_nothing_but_a_marked_end(text: str, room: float, most: int) -> None:
    lines = wrapped(text, room, 10.0, most)
    assert len(lines) <= most
    assert all(text_width(line, 10.0) <= room + 0.02 for line in lines)
    whole = "".join(clean(text).split())
    joined = "".join("".join(lines).split())
    if joined != whole:
        assert joined.endswith(ELLIPSIS)
        assert whole.startswith(joined[:-1])


def test_a_no_break_space_keeps_a_number_with_its_unit() -> None:
    assert wrapped("0.24 in. (28\xa0%)", text_width("0.24 in. (28", 10.0), 10.0, 3) == ("0.24 in.", "(28\xa0%)")
    assert wrapped("0.24 in. (28 %)", text_width("0.24 in. (28", 10.0), 10.0, 3) == ("0.24 in. (28", "%)")


@given(st.text(), st.floats(20.0, 300.0))
def test_a_shortened_line_keeps_its_room(text: str, room: float) -> None:
    assert text_width(shortened(text, room, 10.0), 10.0) <= room + 0.02


# Every code point, halves of surrogate pairs too.
@given(st.text(st.characters(codec=None, exclude_categories=())))
def test_clean_text_can_stand_in_xml_and_comes_back_the_same(text: str) -> None:
    # The oracle is expat, an XML 1.0 parser.
    element = ET.Element("t")
    element.text = clean(text)
    assert (ET.fromstring(ET.tostring(element, encoding="utf-8")).text or "") == clean(text)
    assert clean(clean(text)) == clean(text)


@pytest.mark.parametrize(
    ("text", "count"),
    # Extended grapheme clusters as the examples of Unicode Standard Annex 29 have them, from memory: a letter with its mark, a
    # joined family, a flag each, a hand with its skin tone.
    [("e\u0301a", 2), ("👩‍👩‍👧‍👦", 1), ("🇲🇽🇺🇸", 2), ("👍🏽!", 2), ("🏳️‍🌈", 1), ("abc", 3), ("", 0)],
)
def test_what_a_reader_sees_as_one_is_never_cut(text: str, count: int) -> None:
    assert len(list(clusters(text))) == count
    assert "".join(clusters(text)) == text


def test_marks_that_turn_the_direction_and_piles_of_marks_are_gone() -> None:
    assert clean("safe\u202eevil\u2066") == "safeevil"
    assert clean("z" + "\u0335" * 40) == "z" + "\u0335" * 3
    assert clean(" a\x00\t\nb\x85 ") == "a b"
    assert clean("\ud800") == "\ufffd"
