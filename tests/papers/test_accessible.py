"""Every HTML paper against WCAG 2.2 AA by axe-core (Deque, MPL-2.0, the copy inside axe-playwright-python), and on a phone.

axe finds part of what WCAG asks for, by its makers' word about half; the rest (order, words, sense of the pictures) was read by people.
"""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from accessible import TAGS
from airwarrant.papers.accepted import accepted_files
from airwarrant.papers.write import make
from browser import browser
from jobs import data, scope
from results import UNKIND, acceptance_of, record_with_names, record_with_rooms, result_of


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as opened:
        yield opened


def _stopped() -> dict[str, Any]:
    record = data("1042")
    record["visit"][0]["gas_smell"] = "yes"
    return scope(record)


#: Sets of papers and the widths they are looked at: an ordinary job on both, the odd ones where they are likelier to break.
_SETS: dict[str, tuple[Callable[[], dict[str, bytes]], tuple[int, ...]]] = {
    "en": (lambda: make(result_of("1042")), (1200, 360)),
    "es": (lambda: make(result_of("3390"), language="es"), (1200,)),
    "unkind": (lambda: make(scope(record_with_names(UNKIND))), (360,)),
    "many": (lambda: make(scope(record_with_rooms(100)), only=["proposal", "work-order", "test-out"]), (360,)),
    "stopped": (lambda: make(_stopped()), (1200,)),
    "accepted": (lambda: accepted_files(acceptance_of("test-out-1042-tight")), (1200, 360)),
}


@pytest.mark.parametrize("kind", _SETS)
def test_no_paper_breaks_wcag_2_2_aa_and_none_is_wider_than_a_phone(kind: str, chromium: Browser) -> None:
    papers, widths = _SETS[kind]
    made = {name: page.decode() for name, page in papers().items() if name.endswith(".html")}
    broken: list[str] = []
    asked: list[str] = []
    for width in widths:
        context = chromium.new_context(viewport={"width": width, "height": 800})
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        for name, html in made.items():
            page.set_content(html)
            found = Axe().run(page, options={"runOnly": {"type": "tag", "values": TAGS}})
            assert found.response["passes"], "axe ran on nothing"
            broken += [
                f"{name} at {width}: {one['id']} {node['target']} {node['html'][:120]}"
                for one in found.response["violations"]
                for node in one["nodes"]
            ]
            if page.evaluate("document.scrollingElement.scrollWidth") > width:
                broken.append(f"{name} is wider than {width}")
        context.close()
    assert broken == []
    assert asked == []
