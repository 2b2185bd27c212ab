"""The import arrows of DEVELOPERS.md hold."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_every_import_points_the_allowed_way() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_top_level_is_as_agreed() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "engine", "policies", "schemas", "tests", "scenarios"}
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout
    tops = {line.split("/")[0] for line in tracked.splitlines()}
    assert {top for top in tops if not top.startswith(".")} <= allowed
