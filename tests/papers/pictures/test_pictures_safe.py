"""Every picture, ordinary and hard, at page, phone and least width: well formed, named, legible, nothing but drawing in it."""

import hashlib
import re
import subprocess
import sys
from functools import cache
from html.parser import HTMLParser

import pytest

from airwarrant.papers.pictures import palette
from airwarrant.papers.pictures.visual_order import seen
from papers.pictures.reading_svg import SVG, outside, overlaps, root_of, texts
from papers.pictures.samples import HOSTILE, Draw, every, frame

CASES = list(every())
DRAWN = {"svg", "title", "desc", "g", "rect", "line", "polyline", "polygon", "path", "circle", "text"}
# Presentation attributes and geometry of SVG 2 (W3C Candidate Recommendation 2018), those the pictures use; from memory.
ALLOWED = {
    *(
        "viewBox",
        "width",
        "height",
        "role",
        "aria-labelledby",
        "id",
        "x",
        "y",
        "x1",
        "y1",
        "x2",
        "y2",
        "cx",
        "cy",
        "r",
        "rx",
    ),
    *("points", "d", "fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linejoin"),
    *("font-family", "font-size", "font-weight", "text-anchor", "direction", "unicode-bidi"),
}


@cache
def pictures(width: float, draw: Draw) -> tuple[str, ...]:
    return tuple(draw(frame(width=width)))


@pytest.fixture(params=CASES, ids=[name for name, _, _ in CASES])
def svgs(request: pytest.FixtureRequest) -> tuple[str, ...]:
    _, width, draw = request.param
    return pictures(width, draw)


def test_a_picture_is_well_formed_and_only_drawing(svgs: tuple[str, ...]) -> None:
    # Well formed by expat's judgement (XML 1.0), so no character is in it that XML does not allow.
    for svg in svgs:
        root = root_of(svg)
        for element in root.iter():
            assert element.tag.removeprefix(SVG) in DRAWN
            assert set(element.attrib) <= ALLOWED
        assert "http" not in svg.replace("http://www.w3.org/2000/svg", "")
        svg.encode("utf-8")


def test_a_picture_has_a_name_and_a_description_for_who_does_not_see_it(svgs: tuple[str, ...]) -> None:
    # Role and names as WAI-ARIA 1.2 and SVG-AAM ask for (from memory): role img, labelled by its own title and desc.
    for svg in svgs:
        root = root_of(svg)
        title, desc = root[0], root[1]
        assert (title.tag, desc.tag) == (f"{SVG}title", f"{SVG}desc")
        assert title.text
        assert desc.text
        assert root.attrib["role"] == "img"
        assert root.attrib["aria-labelledby"] == f"{title.attrib['id']} {desc.attrib['id']}"
        assert [e.attrib["id"] for e in root.iter() if "id" in e.attrib] == [title.attrib["id"], desc.attrib["id"]]


def test_no_text_leaves_the_picture_or_lies_on_another(svgs: tuple[str, ...]) -> None:
    for svg in svgs:
        assert list(outside(svg)) == []
        assert list(overlaps(svg)) == []


def test_no_number_is_written_that_is_none(svgs: tuple[str, ...]) -> None:
    for svg in svgs:
        geometry = " ".join(
            v for e in root_of(svg).iter() for k, v in e.attrib.items() if k not in ("role", "font-family")
        )
        assert (
            not re.search(r"nan|inf|-0\b(?!\.)|e[+-]?\d", geometry.replace("fine", ""), re.IGNORECASE)
            or "#" in geometry
        )
        for value in re.findall(r"(?:^|[ ,])(-?[\w.+-]+)(?=$|[ ,])", geometry):
            assert value.lower() not in ("nan", "inf", "-inf", "-0")


def test_only_colours_of_the_palette_are_used(svgs: tuple[str, ...]) -> None:
    for svg in svgs:
        for element in root_of(svg).iter():
            used = {element.attrib[k] for k in ("fill", "stroke") if k in element.attrib} - {"none"}
            allowed = palette.TEXTS if element.tag == f"{SVG}text" else (*palette.MARKS, *palette.DECORATION)
            assert used <= set(allowed)


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)


@pytest.mark.parametrize(
    ("name", "width", "draw"),
    [c for c in CASES if c[0].startswith("hard")],
    ids=lambda v: "" if callable(v) else str(v)[:40],
)
def test_a_browser_sees_no_script_in_it(name: str, width: float, draw: Draw) -> None:
    for svg in pictures(width, draw):
        reader = _Tags()
        reader.feed(f"<!doctype html><body>{svg}</body>")
        assert set(reader.tags) <= {"body", *DRAWN}
        assert "<script" not in svg.lower()


def test_hostile_texts_stay_readable() -> None:
    svgs = [svg for _, width, draw in CASES if width == 672.0 for svg in pictures(width, draw)]
    shown = " ".join(one.text for svg in svgs for one in texts(svg))
    for part in ("<script>alert('x')</script>", "]]>", "👩‍👩‍👧‍👦🏳️‍🌈🇲🇽", "ab[31mcevil", "寝室二号室"):
        assert part in shown
    # Text from right to left is drawn as it is seen; as it was written it stays in the title of its element.
    titles = " ".join(e.text or "" for svg in svgs for e in root_of(svg).iter(f"{SVG}title"))
    assert "غرفة النوم" in titles
    assert seen("غرفة") in shown


def test_what_is_shortened_stays_whole_for_a_pointer() -> None:
    _, width, draw = next(c for c in CASES if c[0] == "hard rooms 340")
    titles = [e.text for svg in pictures(width, draw) for e in root_of(svg).iter(f"{SVG}title")]
    assert HOSTILE[2] in titles


def test_ids_are_unique_with_all_pictures_on_one_page() -> None:
    svgs = [svg for at, (_, width, draw) in enumerate(CASES) for svg in draw(frame(f"picture-{at}", width))]
    ids = [e.attrib["id"] for svg in svgs for e in root_of(svg).iter() if "id" in e.attrib]
    assert len(ids) == len(set(ids)) == 2 * len(svgs)


def test_the_same_input_gives_the_same_bytes_in_another_process() -> None:
    # Another seed of Python's hashing, so that no order of a set or of ids shows.
    code = (
        "import sys, hashlib; sys.path.insert(0, 'tests'); from papers.pictures.samples import every, frame\n"
        "print(hashlib.sha256(''.join(s for _, w, d in every() if w == 340 for s in d(frame(width=w))).encode()).hexdigest())"
    )
    here = "".join(svg for _, width, draw in CASES if width == 340.0 for svg in pictures(width, draw))
    run = subprocess.run(
        [sys.executable, "-c", code], env={"PYTHONHASHSEED": "7"}, capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == hashlib.sha256(here.encode()).hexdigest()


@pytest.mark.parametrize("prefix", ["", "1a", "a b", 'a"b', "a<b"])
def test_a_prefix_that_cannot_be_an_id_is_refused(prefix: str) -> None:
    with pytest.raises(ValueError, match="prefix"):
        frame(prefix)
