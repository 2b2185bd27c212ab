"""In a folder of one's own, coverage speaks of the rules that the folder sets or changes, not of those that ship."""

from pathlib import Path

from airwarrant.desks.cases import check_cases
from airwarrant.shipped import roots
from jobs import POLICIES

HEAD = '[policy]\ntitle = "Ours"\nreview_by = 2030-01-01\n'
MARKET = """[market]
title = "Ours"
layers = ["trade", "regions/hot-dry", "companies/demo-company", "companies/ours"]
jurisdiction = "demo county"
editions = ["demo-2021"]
currency = "demo"
"""
OWN = """
[[rule]]
id = "find.ours"
title = "A door that fails"
stage = "diagnose"
each = "room"
where = { use = "bedroom" }
when = [{ check = "door-pressure", is = "fail" }]
then = [{ finding = "ours" }]
basis = { kind = "demo" }
"""
CHANGED = """
[[rule]]
id = "scope.no-bedroom-return"
title = "No bedroom return below the limit"
"""
CASES = """[cases]
title = "Ours"
from = "small-house"
market = "ours"

[[case]]
title = "A door that passes"
change = { room.bed-2.door_pressure = 1.0 }
expect = [{ nearly = "find.ours", place = "bed-2" }]
"""


def _counted(folder: Path, text: str) -> set[str]:
    for name, held in (("markets/ours", MARKET), ("companies/ours/2026-01-01/own", HEAD + text), ("cases/ours", CASES)):
        path = folder / f"{name}.toml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(held, encoding="utf-8")
    checked = check_cases(roots(folder))
    assert not checked.faults
    (of_rules, _, _) = checked.coverage.counts().values()
    named = {one.rule for one in checked.coverage.uncovered()}
    assert len(named) <= of_rules[1]
    return named


def test_only_rules_of_the_folder_are_counted(tmp_path: Path) -> None:
    assert _counted(tmp_path, OWN) == {"find.ours"}


def test_a_rule_that_the_folder_changes_is_counted_too(tmp_path: Path) -> None:
    assert _counted(tmp_path, OWN + CHANGED) == {"find.ours", "scope.no-bedroom-return"}


def test_in_the_shipped_folder_every_rule_is_counted() -> None:
    checked = check_cases((POLICIES,), only=lambda case: case.title == "Every reading goes with every other")
    assert checked.coverage.counts()["rules that fire"][1] > 100
