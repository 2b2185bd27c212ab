"""The worked comparison of leaks in the README: its commands give what it prints, and its table follows from them."""

import re
import tomllib
from pathlib import Path

import pytest
from typer.testing import CliRunner

from airwarrant.calculations.registry import calculate
from airwarrant.cli.main import app
from calculations.asking import ask

ROOT = Path(__file__).resolve().parents[2]
SECTION = (ROOT / "README.md").read_text().split("## What leaks cost: a worked comparison\n")[1].split("\n## ")[0]
COMMANDS = re.findall(r"^\$ airwarrant (calc .+)\n((?:[a-z_]+ .+\n)+)", SECTION, re.MULTILINE)
ROWS = re.findall(
    r"^\| [^|]+ \| `([a-z-]+)\.toml` \| ([\d.]+) \| ([\d.]+) \| ([\d,]+) to ([\d,]+) \| (\d+) to (\d+) \|$",
    SECTION,
    re.MULTILINE,
)


def _words(text: str) -> list[tuple[str, ...]]:
    return [tuple(line.split()) for line in text.strip().splitlines()]


@pytest.mark.parametrize(("command", "printed"), COMMANDS)
def test_every_command_prints_what_the_readme_shows(
    command: str, printed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    result = CliRunner().invoke(app, command.split())
    assert result.exit_code == 0, result.output
    shown = _words(printed)
    assert _words(result.output)[: len(shown)] == shown


def test_the_section_shows_both_duct_systems_and_both_seasons() -> None:
    assert len(COMMANDS) == 4
    assert [row[0] for row in ROWS] == ["tight", "leaky-supply", "leaky-both", "leaky-return"]
    assert "only with its conditions stated" in " ".join(SECTION.split())


def test_the_table_follows_from_the_files() -> None:
    def read(name: str) -> dict[str, object]:
        return tomllib.loads((ROOT / "scenarios" / "leakage" / f"{name}.toml").read_text())

    systems = {row[0]: calculate("distribution", read(row[0])).outputs["system"] for row in ROWS}
    for name, system, acts_like, low, high, cheap, dear in ROWS:
        assert float(system) == round(systems[name], 3)
        assert float(acts_like) == round(20 * systems[name] / systems["tight"], 1)
        season = ask("season-energy", **read("season"), seer=20 * systems[name])["energy_kwh"]
        for share, kwh, money in ((0.7, low, cheap), (1.0, high, dear)):
            # Printed whole.
            assert int(kwh.replace(",", "")) == pytest.approx(share * season, abs=0.51)
            assert int(money) == pytest.approx(0.15 * share * season, abs=0.51)
