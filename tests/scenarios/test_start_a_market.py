"""A market is started as ``policies/README.md`` says, word for word, in a fresh folder."""

import re
from pathlib import Path

from airwarrant.desks.cases import check_cases
from airwarrant.job.reading_records import read_job
from airwarrant.policy.compose import compose
from airwarrant.session import Session
from jobs import POLICIES, SCENARIOS

#: Where the README tells its owner to put each block, in its order.
FILES = (
    "companies/ours/2026-07-01/limits.toml",
    "markets/red-mesa.toml",
    "codes/our-state/2026-07-01/code.toml",
    "cases/ours.toml",
)


def _written(folder: Path) -> tuple[Path, Path]:
    text = (POLICIES / "README.md").read_text()
    blocks = re.findall(r"```toml\n(.*?)```", text, re.DOTALL)
    for name, block in zip(FILES, blocks, strict=False):
        assert name.removeprefix("companies/ours/2026-07-01/") in text
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(block)
    return folder, POLICIES


def test_the_readmes_market_composes_evaluates_and_its_case_holds(tmp_path: Path) -> None:
    roots = _written(tmp_path)
    record = read_job(SCENARIOS / "job-1042.toml")
    policy = compose(roots, "red-mesa", record.dates)
    set_by = {name: policy.parameters[name].keys["value"].layer for name in ("new_duct_leakage", "return_budget")}
    assert set_by == {"new_duct_leakage": "codes/our-state", "return_budget": "companies/ours"}
    with Session(roots) as session:
        assert session.evaluate(record, market="red-mesa")["sellable"]["answer"] == "yes"
    checked = check_cases(roots, markets=["red-mesa"])
    assert (checked.count, checked.failures, checked.faults) == (1, (), ())


def test_a_market_without_editions_holds_every_proposal(tmp_path: Path) -> None:
    roots = _written(tmp_path)
    path = tmp_path / "markets" / "red-mesa.toml"
    path.write_text(re.sub(r"(?m)^editions = .*$", "editions = []", path.read_text()))
    with Session(roots) as session:
        result = session.evaluate(read_job(SCENARIOS / "job-1042.toml"), market="red-mesa")
    assert result["sellable"]["answer"] == "held"
    assert "guard.jurisdiction" in {hold["rule"] for hold in result["holds"]}
