"""The page of the owner's figures against WCAG 2.2 AA by axe-core, on a wide screen and on a phone, folded and open."""

from datetime import date
from pathlib import Path

from axe_playwright_python.sync_playwright import Axe

from airwarrant.cli.made_archive import MadeArchive
from airwarrant.made_jobs.made import made
from airwarrant.records.archive import Archive
from airwarrant.season.company import gathered
from airwarrant.season.kept_jobs import kept_jobs, past_review
from airwarrant.season.page import season_page
from airwarrant.shipped import shipped
from browser import browser

_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def test_the_page_breaks_no_rule_asks_the_network_for_nothing_and_fits_a_phone(tmp_path: Path) -> None:
    path, day = tmp_path / "jobs.sqlite", date(2027, 6, 1)
    with MadeArchive(path, (shipped("policies"),)) as kept:
        for k in range(1, 4):
            kept.keep(made(9, k))
    with Archive.open(path) as opened:
        html = season_page(gathered(kept_jobs(opened)), past_review(opened, day), day)
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
