"""Each code of the analysis is found in a file broken on purpose, at its position, and has an entry in the owner's guide.

Each file of ``tests/desks/broken`` is laid over a small folder. ``# here`` stands above the line of the fault, ``# at:`` names it in
another file, ``# on:`` the day, ``# folder:`` the date of the file, ``# file:`` begins another file.
"""

import re
import sys
from datetime import date
from pathlib import Path

import pytest

from airwarrant.cli.policy_check import rules_can_run
from airwarrant.desks.analysis.codes import CODES
from airwarrant.desks.analysis.whole import Analysis
from airwarrant.errors import Fault, PolicyError
from airwarrant.policy.compose import compose, compose_sources
from airwarrant.policy.files import market_names, read_sources
from airwarrant.shipped import shipped
from jobs import POLICIES

HERE = Path(__file__).parents[1]
sys.path.append(str(HERE.parent / "policy"))
from small_folder import write  # noqa: E402

BROKEN = HERE / "broken"
#: Warnings that are found while files are composed, each with tests of its own.
ELSEWHERE = ("unfilled", "review-overdue")
GUIDE = (POLICIES / "CHECKS.md").read_text(encoding="utf-8")


def _head(text: str, key: str) -> str:
    found = re.search(rf"^# {key}: (.+)$", text, re.MULTILINE)
    return found[1] if found else ""


def _parts(text: str) -> dict[str, str]:
    folder = _head(text, "folder") or "2026-01-01"
    name, parts = f"companies/demo/{folder}/own.toml", {}
    for line in text.splitlines():
        if line.startswith("# file: "):
            name = line.removeprefix("# file: ")
        else:
            parts[name] = parts.get(name, "") + line + "\n"
    return parts


def _place(text: str) -> tuple[str, int]:
    if at := _head(text, "at"):
        file, _, line = at.rpartition(":")
        return file, int(line)
    for name, part in _parts(text).items():
        lines = part.splitlines()
        if "# here" in lines:
            return name, lines.index("# here") + 2
    raise AssertionError("no place")


def _analysed(root: Path, on: date | None) -> list[Fault]:
    analysis = Analysis((root,), on)
    found: list[Fault] = []
    for name in market_names(root):
        sources = read_sources((root,), name, {})
        try:
            found += analysis.market(compose_sources(sources, analysis.read), sources)
        except PolicyError as error:
            found += error.faults
        found += analysis.layers(sources)
    return [*found, *analysis.together()]


@pytest.mark.parametrize("code", CODES)
def test_a_broken_file_is_found_at_its_position(code: str, tmp_path: Path) -> None:
    text = (BROKEN / f"{code}.toml").read_text(encoding="utf-8")
    parts = _parts(text)
    root = write(tmp_path, parts)
    if _head(text, "folder"):
        (root / "companies/demo/2026-01-01/own.toml").unlink()
    on = _head(text, "on")
    found = _analysed(root, date.fromisoformat(on) if on else None)
    faults = [one for one in found if one.code == code and one.place is not None]
    assert _place(text) in {(one.place.file, one.place.line) for one in faults if one.place}, [
        str(one) for one in found
    ]
    assert all(one.found and one.allowed for one in faults)


@pytest.mark.parametrize(
    ("code", "example"),
    [
        ("contradiction", 'room-1.use = "bedroom"'),
        ("unreachable-by-layer", 'room-1.use = "bedroom"; check door of room-1 says fail'),
        ("shadowed-rule", 'house.fuel = "gas"; check static of house says fail'),
        ("duplicate-rule", "check static of house says fail"),
    ],
)
def test_a_finding_about_rules_says_the_smallest_job(code: str, example: str, tmp_path: Path) -> None:
    text = (BROKEN / f"{code}.toml").read_text(encoding="utf-8")
    found = next(one for one in _analysed(write(tmp_path, _parts(text)), None) if one.code == code)
    assert example in found.advice


def test_every_code_has_a_broken_file_and_an_entry_in_the_guide_with_a_bad_and_a_good_example() -> None:
    assert {path.stem for path in BROKEN.glob("*.toml")} == set(CODES)
    entries = dict(re.findall(r"^## `([a-z-]+)`\n(.*?)(?=^## |\Z)", GUIDE, re.MULTILINE | re.DOTALL))
    assert set(entries) == {*CODES, *ELSEWHERE}
    for code, entry in entries.items():
        assert entry.lstrip().startswith(CODES.get(code, "warning").capitalize()), code
        assert ("Bad:" in entry, "Good:" in entry) == (True, True), code


def test_the_shipped_policy_gives_rise_to_nothing() -> None:
    assert _analysed(shipped("policies"), None) == []


def test_an_error_refuses_a_policy_and_a_warning_does_not(tmp_path: Path) -> None:
    policy = compose(POLICIES, "copper-basin", {})
    rules_can_run(policy)
    for code in ("unread-value", "hazard-unknown"):
        root = write(tmp_path / code, _parts((BROKEN / f"{code}.toml").read_text(encoding="utf-8")))
        composed = compose(root, "test", {})
        if CODES[code] == "warning":
            Analysis().market(composed)
        else:
            with pytest.raises(PolicyError):
                Analysis().market(composed)
