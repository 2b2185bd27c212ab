"""What `airwarrant policy check` says of a folder of one's own: a warning keeps exit status 0, an error makes it 1."""

import json
from pathlib import Path
from typing import Any

import pytest

from program import completed

HEAD = '[policy]\ntitle = "Ours"\nreview_by = 2030-01-01\n'
MARKET = """[market]
title = "Ours"
layers = ["trade", "regions/hot-dry", "companies/demo-company", "companies/ours"]
jurisdiction = "demo county"
editions = ["demo-2021"]
currency = "demo"
"""
UNREAD = """
[parameter.old_limit]
value = 0.5
unit = "in. w.c."
title = "A limit that no check reads"
edit = "company"
basis = { kind = "demo" }
"""
NEVER = """
[[rule]]
id = "find.never"
title = "Never"
stage = "diagnose"
each = "room"
where = { use = "bedroom" }
when = [{ where = { use = "kitchen" } }]
then = [{ finding = "never" }]
basis = { kind = "demo" }
"""


def _check(folder: Path, text: str, *options: str) -> tuple[int, dict[str, Any]]:
    for name, held in (("markets/ours.toml", MARKET), ("companies/ours/2026-01-01/limits.toml", HEAD + text)):
        path = folder / "policies" / name
        path.parent.mkdir(parents=True)
        path.write_text(held, encoding="utf-8")
    done = completed("policy", "check", "--json", *options, folder=folder)
    assert done.stderr == ""
    return done.returncode, json.loads(done.stdout)


@pytest.mark.parametrize(
    ("text", "status", "faults", "warnings"),
    [("", 0, [], []), (UNREAD, 0, [], ["unread-value"]), (NEVER, 1, ["unreachable-rule"], [])],
)
def test_a_warning_changes_no_exit_status_and_an_error_does(
    text: str, status: int, faults: list[str], warnings: list[str], tmp_path: Path
) -> None:
    code, data = _check(tmp_path, text)
    assert code == status
    assert [one["code"] for one in data["faults"]] == faults
    assert [one["code"] for one in data["warnings"]] == warnings
    assert {one["file"] for one in (*data["faults"], *data["warnings"])} <= {"companies/ours/2026-01-01/limits.toml"}


def test_a_layer_that_has_not_begun_is_told_of_on_a_day(tmp_path: Path) -> None:
    code, data = _check(tmp_path, "", "--on", "2025-06-01")
    assert code == 0
    assert {one["code"] for one in data["warnings"]} == {"future-layer"}
