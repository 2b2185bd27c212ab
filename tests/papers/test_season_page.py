"""The page of the owner's figures against WCAG 2.2 AA by axe-core, on a wide screen and on a phone, folded and open."""

from datetime import date
from pathlib import Path

from accessible import faults_of_page
from airwarrant.cli.made_archive import MadeArchive
from airwarrant.made_jobs.made import made
from airwarrant.records.archive import Archive
from airwarrant.season.company import gathered
from airwarrant.season.kept_jobs import kept_jobs, past_review
from airwarrant.season.page import season_page
from airwarrant.shipped import shipped


def test_the_page_breaks_no_rule_asks_the_network_for_nothing_and_fits_a_phone(tmp_path: Path) -> None:
    path, day = tmp_path / "jobs.sqlite", date(2027, 6, 1)
    with MadeArchive(path, (shipped("policies"),)) as kept:
        for k in range(1, 4):
            kept.keep(made(9, k))
    with Archive.open(path) as opened:
        html = season_page(gathered(kept_jobs(opened)), past_review(opened, day), day)
    assert faults_of_page(html) == []
