"""The page of a replay against WCAG 2.2 AA by axe-core, on a wide screen and on a phone, folded and open."""

from pathlib import Path

from sides_of_a_change import STRICTER_DOORS, asked, changed_folder, made_jobs

from accessible import faults_of_page
from airwarrant.replay.page import replay_page
from airwarrant.replay.pool import Here
from airwarrant.replay.replay import replay


def test_the_page_breaks_no_rule_asks_the_network_for_nothing_and_fits_a_phone(tmp_path: Path) -> None:
    few = asked(changed_folder(tmp_path / "policies", STRICTER_DOORS))
    assert faults_of_page(replay_page(replay(made_jobs(8), few, Here(few)))) == []
