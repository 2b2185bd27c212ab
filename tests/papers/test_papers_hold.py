"""What every paper keeps: its bytes, its own page, whatever a record says, the same numbers in both languages."""

import string

import pytest

from airwarrant.errors import CallError, PaperFault
from airwarrant.papers.pdf import pdf
from airwarrant.papers.press import press
from airwarrant.papers.words import LANGUAGES, words_of
from airwarrant.papers.write import make, papers
from jobs import data, scope
from reading_html import numbers_of, read, refers_outside, text_of
from results import UNKIND, record_with_names, record_with_rooms, result_of

#: A job with every kind of line, and one of two visits.
TWO = ("1042", "4471")
NAMES = [paper.name for paper in papers()]


@pytest.fixture(scope="module")
def unkind() -> dict[str, bytes]:
    return make(scope(record_with_names(UNKIND)))


@pytest.mark.parametrize("job", TWO)
def test_the_same_result_gives_the_same_bytes_and_stands_by_itself(job: str) -> None:
    first, again = make(result_of(job)), make(result_of(job))
    assert first == again
    for name, page in first.items():
        if name.endswith(".html"):
            reader = read(page.decode())
            assert (reader.broken, reader.opened) == ([], []), name
            assert refers_outside(page.decode()) == [], name


def test_a_pdf_has_the_same_bytes() -> None:
    page = make(result_of("5560"), only=["proposal"])["proposal-5560.html"].decode()
    assert pdf(page) == pdf(page)


@pytest.mark.parametrize(
    "what", ["https://example.org/a.png", "file:///etc/hostname", "a.png", "data:image/png;base64,aa"]
)
def test_a_pdf_opens_nothing_beside_its_page(what: str) -> None:
    with pytest.raises(PaperFault, match="nothing outside itself") as caught:
        pdf(f"<html><body><img src='{what}' alt='x'></body></html>")
    assert caught.value.code == "page-refers-outside"


def test_a_fault_of_a_page_that_is_printed_in_another_process_is_told_as_it_is() -> None:
    with press(2) as printing, pytest.raises(PaperFault, match=r"nothing outside itself: .* \[page-refers-outside\]"):
        printing.print("<html><body><img src='a.png' alt='x'></body></html>").result()


def test_what_a_record_says_is_text_on_every_page(unkind: dict[str, bytes]) -> None:
    for name, page in unkind.items():
        if not name.endswith(".html"):
            continue
        html = page.decode()
        assert refers_outside(html) == [], name
        assert "<script" not in html, name
        assert "49" not in text_of(html).split(), name  # {{ 7 * 7 }} is shown, not worked out
        assert "\u202e" not in html, f"{name}: a mark that turns the text around it"


def test_unkind_names_are_legible(unkind: dict[str, bytes]) -> None:
    page = text_of(unkind["proposal-1042.html"].decode())
    assert '<script>alert("x")</script>' in page
    assert UNKIND[3] in page
    assert "\U0001f469\u200d\U0001f527" in page
    assert "{{ 7 * 7 }}" in page


@pytest.mark.parametrize("count", [0, 1, 100])
def test_any_number_of_rooms(count: int) -> None:
    made = make(scope(record_with_rooms(count)))
    for name, page in made.items():
        if name.endswith(".html"):
            reader = read(page.decode())
            assert (reader.broken, reader.opened) == ([], []), name
    ids = [attrs["id"] for tag, attrs in read(made["proposal-1042.html"].decode()).elements if "id" in attrs]
    assert len(ids) == len(set(ids))


def test_a_record_with_nothing_read_makes_papers() -> None:
    record = data("1042")
    del record["visit"]
    made = make(scope(record))
    assert "Nothing has been measured yet." in text_of(made["proposal-1042.html"].decode())


@pytest.mark.parametrize("job", TWO)
@pytest.mark.parametrize("paper", NAMES)
def test_both_languages_carry_the_same_numbers(job: str, paper: str) -> None:
    pages = [
        next(page for name, page in make(result_of(job), language=one, only=[paper]).items() if name.endswith(".html"))
        for one in LANGUAGES
    ]
    english, spanish = (numbers_of(page.decode()) for page in pages)
    assert english == spanish


def test_both_languages_have_the_same_words_with_the_same_holes() -> None:
    english, spanish = (words_of(one) for one in LANGUAGES)
    assert english.names() == spanish.names()
    for name in english.names():
        assert _holes(english(name)) == _holes(spanish(name)), name


def _holes(text: str) -> set[str]:
    return {hole for _, hole, _, _ in string.Formatter().parse(text) if hole}


@pytest.mark.parametrize("wrong", [{"language": "fr"}, {"size": "A3"}, {"only": ["invoice"]}])
def test_a_wrong_call_is_told(wrong: dict[str, object]) -> None:
    with pytest.raises(CallError):
        make(result_of("5560"), **wrong)  # type: ignore[arg-type]


def test_a_job_called_like_a_path_stays_in_its_folder() -> None:
    result = result_of("5560")
    result["job_id"] = "../../etc/x"
    assert all("/" not in name and ".." not in name for name in make(result))
