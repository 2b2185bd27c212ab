"""The HTML page of a policy difference against WCAG 2.2 AA by axe-core, on a wide screen and on a phone, folded and open."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from airwarrant.desks.policy_diff import compose_sides, policy_diff
from airwarrant.desks.policy_diff_page import policy_diff_page
from browser import browser
from jobs import POLICIES

_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.mark.parametrize(("a", "b"), [("copper-basin", "quillback-cove"), ("copper-basin", "copper-basin")])
def test_the_page_breaks_no_rule_asks_the_network_for_nothing_and_fits_a_phone(a: str, b: str) -> None:
    first, second = compose_sides((POLICIES,), (a, None), (b, None))
    html = policy_diff_page(policy_diff(first, second))
    broken, asked = [], []
    with browser() as chromium:
        for width in (1200, 360):
            page = chromium.new_context(viewport={"width": width, "height": 800}).new_page()
            page.on("request", lambda request: asked.append(request.url))
            page.set_content(html)
            for state in ("folded", "open"):
                if state == "open":
                    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
                found = Axe().run(page, options={"runOnly": {"type": "tag", "values": _TAGS}})
                assert found.response["passes"], "axe ran on nothing"
                broken += [f"{one['id']} at {width}, {state}" for one in found.response["violations"]]
                wide = page.evaluate("document.documentElement.scrollWidth")
                broken += [f"{wide} px at {width}, {state}"] if wide > width else []
    assert not broken
    assert not asked
