"""`airwarrant policy cases`: what it writes for a market of one's own, and what it never overwrites."""

import json
from pathlib import Path

import pytest

from jobs import POLICIES
from program import completed

MARKET = (POLICIES / "markets/fog-harbor.toml").read_text()
FILE = "cases/limits/trade-checks.toml"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of one market, on shipped layers, whose cases were written once."""
    own: Path = tmp_path_factory.mktemp("own")
    (own / "policies/markets").mkdir(parents=True)
    (own / "policies/markets/umber-flat.toml").write_text(MARKET)
    done = completed("policy", "cases", folder=own)
    assert done.returncode == 0, done.stderr
    assert "Cases at every limit, below policies:" in done.stdout
    assert "cases/limits/regions-marine-checks.toml: 6 cases, new" in done.stdout
    assert "its limit is what was predicted, no number of the policy" in done.stdout
    return own


def test_the_cases_of_a_market_of_ones_own_hold_and_name_the_value_they_hold(folder: Path) -> None:
    text = (folder / "policies" / FILE).read_text()
    assert 'market = "umber-flat"' in text
    assert 'title = "return-static: just within 0.250 in. w.c."' in text
    line = next(n for n, one in enumerate(_limits().splitlines(), 1) if one.startswith("[parameter.return_budget]")) + 1
    assert f"# holds `return_budget`, trade/2026-01-01/limits.toml:{line}" in text
    done = completed("policy", "check", Path("policies") / FILE, "--cases", folder=folder)
    assert (done.returncode, done.stdout.splitlines()[-1][-8:]) == (0, "0 failed")


def test_a_file_edited_by_hand_is_named_and_left_until_yes(folder: Path) -> None:
    path = folder / "policies" / FILE
    before = path.read_text()
    path.write_text(before.replace("external_static = 0.6 }", "external_static = 0.61 }"))
    left = completed("policy", "cases", folder=folder)
    assert (left.returncode, "0.61" in path.read_text()) == (1, True)
    (said,) = (line for line in left.stdout.splitlines() if FILE in line)
    assert said.endswith(" cases, left as it is: it was edited by hand (--yes replaces it)")
    done = completed("policy", "cases", "--yes", "--json", folder=folder)
    how = {one["file"]: one["how"] for one in json.loads(done.stdout)["files"]}
    assert (done.returncode, how[FILE], path.read_text() == before) == (0, "replaced", True)
    assert set(how.values()) == {"same", "replaced"}


def test_an_unknown_market_is_said_with_the_nearest_before_anything_is_worked_out(folder: Path) -> None:
    done = completed("policy", "cases", "umber-falt", folder=folder)
    assert done.returncode == 2
    assert "Did you mean `umber-flat`?" in done.stderr


def test_a_folder_without_a_market_is_refused_with_where_to_start(tmp_path: Path) -> None:
    (tmp_path / "policies").mkdir()
    done = completed("policy", "cases", folder=tmp_path)
    assert (done.returncode, list((tmp_path / "policies").iterdir())) == (2, [])
    assert "no market in `policies`" in done.stderr
    assert "airwarrant policy new" in done.stderr


def _limits() -> str:
    return (POLICIES / "trade/2026-01-01/limits.toml").read_text()
