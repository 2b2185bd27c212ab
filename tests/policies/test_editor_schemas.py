"""A TOML language server, here taplo 0.9 from PyPI, finds the schema of each file by `.taplo.toml` and tells of its slips."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from jobs import POLICIES

ROOT = POLICIES.parent
TAPLO = Path(sys.executable).with_name("taplo")


def _lint(folder: Path, *files: str) -> subprocess.CompletedProcess[str]:
    """Lint as in CI, offline: every schema is a file of the folder."""
    command = [str(TAPLO), "lint", "--colors", "never", *files]
    return subprocess.run(command, capture_output=True, text=True, cwd=folder, check=False)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copy(ROOT / ".taplo.toml", tmp_path)
    shutil.copytree(ROOT / "schemas", tmp_path / "schemas")
    return tmp_path


def test_every_shipped_file_passes() -> None:
    done = _lint(ROOT)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("file", "right", "wrong"),
    [
        ("policies/trade/2026-01-01/limits.toml", "\nvalue = ", "\nvlaue = "),
        ("policies/regions/hot-dry/2026-01-01/limits.toml", "\nvalue = ", "\nvlaue = "),
        ("policies/codes/model-2021/2026-01-01/code.toml", "\nvalue = ", "\nvlaue = "),
        ("policies/companies/demo-company/2026-01-01/prices.toml", "\nwage = ", "\nwages = "),
        ("policies/markets/copper-basin.toml", "\njurisdiction = ", "\njurisdicton = "),
        ("policies/cases/markets/no-jurisdiction.toml", "\ncurrency = ", "\ncurency = "),
        ("policies/cases/trust.toml", "\nexpect = ", "\nexpects = "),
        ("policies/cases/records/small-house.toml", "\nunits = ", "\nunit = "),
        ("scenarios/job-1042.toml", "\nunits = ", "\nunit = "),
        ("scenarios/test-out-1042.toml", "\nunits = ", "\nunit = "),
    ],
)
def test_a_wrong_key_is_told_of_by_the_schema_of_its_file(folder: Path, file: str, right: str, wrong: str) -> None:
    text = (ROOT / file).read_text()
    assert right in text
    target = folder / file
    target.parent.mkdir(parents=True)
    target.write_text(text)
    assert _lint(folder, file).returncode == 0
    target.write_text(text.replace(right, wrong, 1))
    done = _lint(folder, file)
    assert done.returncode != 0
    assert wrong.strip(" =\n") in done.stderr or right.strip(" =\n") in done.stderr
