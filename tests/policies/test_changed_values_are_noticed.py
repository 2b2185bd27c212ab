"""A few policy values, each changed by itself: something notices, or the value is listed with the reason why nothing does.

All of them: `python tests/bench/value_mutations.py`, which takes hours.
"""

import subprocess
import sys
import tomllib
from pathlib import Path

from bench.mutants import all_mutants, sources
from jobs import POLICIES

HERE = Path(__file__).resolve().parent
LISTED = HERE / "unnoticed.toml"


def _changed(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, str(HERE.parent / "bench/value_mutations.py"), "--quick", *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_a_sample_of_changed_values_is_noticed_or_listed() -> None:
    done = _changed("--sample", "5", "--seed", "2", "--seconds", "6", "--cases", "12")
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    assert " of 5 noticed, " in done.stdout


def test_a_value_that_nothing_notices_needs_its_reason(tmp_path: Path) -> None:
    """The trade's hours of a season, which every region replaces: listed they may go unnoticed, else they may not."""
    nothing = tmp_path / "nothing.toml"
    nothing.write_text("unnoticed = []\n")
    asked = ("--only", "trade:parameter:season_hours:", "--no-tests", "--cases", "0")
    listed, unlisted = _changed(*asked), _changed(*asked, "--listed", str(nothing))
    assert "\n0 of 2 noticed, " in listed.stdout
    assert "\n0 of 2 noticed, " in unlisted.stdout
    assert (listed.returncode, unlisted.returncode) == (0, 1), listed.stderr[-3000:] + unlisted.stderr[-3000:]


def test_every_value_that_goes_unnoticed_has_its_reason() -> None:
    listed = tomllib.loads(LISTED.read_text())["unnoticed"]
    values = [value for one in listed for value in one["values"]]
    assert len(values) == len(set(values))
    assert all(len(one["why"]) > 20 for one in listed)
    # A name that is no value's any more excuses nothing.
    there = {mutant.value for mutant in all_mutants(sources(POLICIES))}
    assert [value for value in values if not any(one.startswith(value) for one in there)] == []
