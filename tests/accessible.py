"""A page held to WCAG 2.2 AA by axe-core, on a wide screen and on a phone, folded and open."""

from axe_playwright_python.sync_playwright import Axe

from browser import browser

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def faults_of_page(html: str) -> list[str]:
    """What is wrong with a page: rules broken, parts wider than the screen, addresses asked for."""
    faults: list[str] = []
    with browser() as chromium:
        for width in (1200, 360):
            page = chromium.new_context(viewport={"width": width, "height": 800}).new_page()
            page.on("request", lambda request, to=faults: to.append(f"asked for {request.url}"))
            page.set_content(html)
            for state in ("folded", "open"):
                if state == "open":
                    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
                found = Axe().run(page, options={"runOnly": {"type": "tag", "values": TAGS}})
                assert found.response["passes"], "axe ran on nothing"
                faults += [f"{one['id']} at {width}, {state}" for one in found.response["violations"]]
                wide = page.evaluate("document.documentElement.scrollWidth")
                faults += [f"{wide} px at {width}, {state}"] if wide > width else []
    return faults
