"""The page of a replay against WCAG 2.2 AA by axe-core, on a wide screen and on a phone."""

import sys
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from sides_of_a_change import STRICTER_DOORS, asked, changed_folder, made_jobs

from airwarrant.replay.page import replay_page
from airwarrant.replay.pool import Here
from airwarrant.replay.replay import replay

sys.path.append(str(Path(__file__).parents[1] / "papers"))
from browser import browser


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("page")
    few = asked(changed_folder(folder / "policies", STRICTER_DOORS))
    path = folder / "replay.html"
    path.write_text(replay_page(replay(made_jobs(8), few, Here(few))), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [1000, 380])
def test_the_page_is_accessible_folded_and_open(page: Path, width: int) -> None:
    with browser() as opened:
        shown = opened.new_page(viewport={"width": width, "height": 900})
        shown.goto(page.as_uri())
        for unfold in (False, True):
            if unfold:
                shown.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
            found = Axe().run(shown)
            assert found.response["passes"], "axe ran on nothing"
            assert found.violations_count == 0, found.generate_report()
            assert shown.evaluate("document.documentElement.scrollWidth") <= width
