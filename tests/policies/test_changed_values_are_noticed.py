"""A few policy values, each changed by itself: something notices, or the value is listed with the reason why nothing does.

All of them: `python tests/bench/value_mutations.py`, which takes hours.
"""

import subprocess
import sys
import tomllib
from pathlib import Path

HERE = Path(__file__).resolve().parent
LISTED = HERE / "unnoticed.toml"


def test_a_sample_of_changed_values_is_noticed_or_listed() -> None:
    command = [sys.executable, str(HERE.parent / "bench/value_mutations.py"), "--quick", "--sample", "5", "--seed", "2"]
    done = subprocess.run([*command, "--seconds", "6", "--cases", "12"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    assert "5 of 5" in done.stdout or "unnoticed" in done.stdout


def test_every_value_that_goes_unnoticed_has_its_reason() -> None:
    listed = tomllib.loads(LISTED.read_text())["unnoticed"]
    values = [value for one in listed for value in one["values"]]
    assert len(values) == len(set(values))
    assert all(len(one["why"]) > 20 for one in listed)
    assert all(value.count(":") >= 1 for value in values)
