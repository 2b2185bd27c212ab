"""A market is started as ``policies/TUTORIAL.md`` says, word for word, in a fresh folder."""

import re
import shlex
from pathlib import Path

import pytest

from airwarrant.desks.cases import check_cases
from airwarrant.job.reading_records import read_job
from airwarrant.policy.compose import compose
from airwarrant.policy.unfilled import unfilled
from airwarrant.session import Session
from jobs import POLICIES, SCENARIOS
from program import completed

TEXT = (POLICIES / "TUTORIAL.md").read_text()
CODE = "policies/codes/umber-flat/2026-01-01/code.toml"
#: Where the tutorial tells its owner to put each block, in its order.
FILES = ("policies/markets/umber-flat.toml", CODE, "policies/cases/ours.toml")


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    """The folder of an owner who did all the tutorial says, and what the last run of each command printed."""
    folder = tmp_path_factory.mktemp("owner")
    files = iter(FILES)
    printed: dict[str, str] = {}
    for kind, block in re.findall(r"```(sh|toml)\n(.*?)```", TEXT, re.DOTALL):
        if kind == "toml":
            _write(folder, next(files), block)
            continue
        for line in block.splitlines():
            _, *words = shlex.split(line)
            done = completed(*words, folder=folder)
            assert done.returncode == 0, (line, done.stdout, done.stderr)
            printed.setdefault(line, done.stdout)
            printed[f"last: {line}"] = done.stdout
    assert next(files, None) is None
    return folder, printed


def _write(folder: Path, file: str, block: str) -> None:
    """A file as the tutorial shows it; of the law it shows one block, and every other gets a source like it."""
    assert f"`{file}`" in TEXT
    path = folder / file
    if file == CODE:
        title, value, basis = block.splitlines()
        text = path.read_text()
        assert title in text
        text = re.sub(rf"{re.escape(title)}\nvalue = .*\n", f"{title}\n{value}\n", text)
        path.write_text(re.sub(r"(?m)^basis = .*$", basis, text))
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(block)


def test_the_first_run_is_a_draft_and_the_last_is_none(said: tuple[Path, dict[str, str]]) -> None:
    folder, printed = said
    line = "airwarrant run job-1042 --market umber-flat"
    assert "DRAFT" in printed[line]
    assert "DRAFT" not in printed[f"last: {line}"]
    assert "The offer may go out." in printed[f"last: {line}"]
    assert {path.name for path in (folder / "papers").iterdir()} >= {
        "proposal-1042.html",
        "proposal-1042.pdf",
        "result-1042.json",
    }


def test_the_market_composes_evaluates_and_its_case_holds(said: tuple[Path, dict[str, str]]) -> None:
    roots = (said[0] / "policies", POLICIES)
    record = read_job(SCENARIOS / "job-1042.toml")
    policy = compose(roots, "umber-flat", record.dates)
    assert unfilled(policy) == ()
    set_by = {name: policy.parameters[name].keys["value"].layer for name in ("new_duct_leakage", "return_budget")}
    assert set_by == {"new_duct_leakage": "codes/umber-flat", "return_budget": "regions/umber-flat"}
    assert (policy.parameters["return_budget"].value, policy.parameters["new_duct_leakage"].value) == (0.28, 3)
    with Session(roots) as session:
        assert session.evaluate(record, market="umber-flat")["sellable"]["answer"] == "yes"
    checked = check_cases(roots, markets=["umber-flat"])
    assert (checked.count, checked.failures, checked.faults) == (1, (), ())


def test_a_market_without_editions_holds_every_proposal(said: tuple[Path, dict[str, str]], tmp_path: Path) -> None:
    text = (said[0] / "policies/markets/umber-flat.toml").read_text()
    (tmp_path / "markets").mkdir()
    (tmp_path / "markets/umber-flat.toml").write_text(re.sub(r"(?m)^editions = .*$", "editions = []", text))
    with Session((tmp_path, said[0] / "policies", POLICIES)) as session:
        result = session.evaluate(read_job(SCENARIOS / "job-1042.toml"), market="umber-flat")
    assert result["sellable"]["answer"] == "held"
    assert "guard.jurisdiction" in {hold["rule"] for hold in result["holds"]}
