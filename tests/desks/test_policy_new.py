"""`policy new`: the nearest market's choices with their comments, and every local code fact left to be filled in."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from airwarrant.desks.policy_new import start
from airwarrant.desks.policy_save import save
from airwarrant.errors import InputError, PolicyError
from airwarrant.job.reading_records import read_job
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names
from airwarrant.policy.model import Policy
from airwarrant.policy.unfilled import unfilled
from airwarrant.policy.whole import check_folder
from airwarrant.session import Session
from jobs import POLICIES, SCENARIOS

NEW = "umber-flat"
ALL = market_names(POLICIES)


def _started(folder: Path, like: str) -> tuple[Path, Path]:
    save(folder, start((folder, POLICIES), NEW, like, "").files)
    return folder, POLICIES


def _codes(policy: Policy) -> set[str]:
    """Values that are adopted law, and rules and checks that a code layer brings."""
    held = {**policy.parameters, **policy.tables}
    own = {**policy.rules, **policy.checks}
    return {n for n, b in held.items() if b.edit == "code"} | {
        n for n, b in own.items() if b.layer.startswith("codes/") and "basis" in b.keys
    }


def _filled(folder: Path) -> None:
    """Every question answered, as an owner would."""
    for path in folder.rglob("*.toml"):
        text = path.read_text().replace('adopted = "?"', "adopted = 2026-01-01")
        text = text.replace('cite = "?"', 'cite = "State energy code, section R403"').replace('["?"]', '["ours-2021"]')
        text = text.replace('edition = "?"', 'edition = "2021"').replace(
            'jurisdiction = "?"', 'jurisdiction = "Umber Flat"'
        )
        path.write_text(text)


@pytest.mark.parametrize("like", ALL)
def test_every_shipped_market_can_be_started_from(tmp_path: Path, like: str) -> None:
    roots = _started(tmp_path, like)
    found = check_folder(roots, lambda policy: None)
    assert (found.markets, found.faults) == ((NEW,), ())
    before, after = compose(POLICIES, like, {}), compose(roots, NEW, {})
    assert {name: one.value for name, one in after.parameters.items()} == {
        n: p.value for n, p in before.parameters.items()
    }
    assert {name: one.rows for name, one in after.tables.items()} == {n: t.rows for n, t in before.tables.items()}
    assert after.rules.keys() == before.rules.keys()


@pytest.mark.parametrize("like", ALL)
def test_every_local_code_fact_is_left_to_be_filled_in(tmp_path: Path, like: str) -> None:
    policy = compose(_started(tmp_path, like), NEW, {})
    told = unfilled(policy)
    named = {match[1] for fault in told if (match := re.match(r"`([^`]+)`", fault.found))}
    assert _codes(policy) <= named
    assert {fault.place.file for fault in told if fault.place and "market" in fault.found} == {f"markets/{NEW}.toml"}
    for fault in told:
        assert fault.place
        line = (tmp_path / fault.place.file).read_text().splitlines()[fault.place.line - 1]
        assert '"?"' in line[fault.place.column - 1 :]


def test_comments_of_the_files_are_kept(tmp_path: Path) -> None:
    _started(tmp_path, "juniper-sill")
    for path in (POLICIES / "regions/hot-dry").rglob("*.toml"):
        assert (tmp_path / "regions" / NEW / path.parent.name / path.name).read_bytes() == path.read_bytes()
    for layer in ("model-2021", "return-table", "altered-ducts", "records-south"):
        for path in (POLICIES / "codes" / layer).rglob("*.toml"):
            copied = (tmp_path / "codes" / f"{NEW}-{layer}" / path.parent.name / path.name).read_text()
            for comment in re.findall(r"(?m)#.*$", path.read_text()):
                assert comment in copied, (layer, comment)


def test_no_source_of_the_market_it_was_started_from_is_left(tmp_path: Path) -> None:
    _started(tmp_path, "juniper-sill")
    assert not re.findall(r"adopted = \d", "".join(path.read_text() for path in (tmp_path / "codes").rglob("*.toml")))


def test_a_live_job_is_refused_until_all_is_filled_in(tmp_path: Path) -> None:
    roots = _started(tmp_path, "copper-basin")
    live = replace(read_job(SCENARIOS / "job-1042.toml"), demo=False)
    with Session(roots) as session, pytest.raises(PolicyError) as caught:
        session.evaluate(live, market=NEW)
    assert {fault.code for fault in caught.value.faults} == {"unfilled"}
    assert set(caught.value.faults) == set(unfilled(compose(roots, NEW, {})))
    _filled(tmp_path)
    with Session(roots) as session:
        result = session.evaluate(live, market=NEW)
    assert "draft" not in result["market"]
    assert result["sellable"]["answer"] == "yes"


def test_a_draft_or_a_demo_record_runs_and_says_so_and_the_offer_waits(tmp_path: Path) -> None:
    roots = _started(tmp_path, "copper-basin")
    demo = read_job(SCENARIOS / "job-1042.toml")
    with Session(roots) as session:
        for result in (
            session.evaluate(demo, market=NEW),
            session.evaluate(replace(demo, demo=False), market=NEW, draft=True),
        ):
            assert result["market"]["draft"] is True
            assert result["sellable"]["answer"] == "held"
            assert "guard.jurisdiction" in {hold["rule"] for hold in result["holds"]}


def test_the_shipped_markets_have_nothing_to_fill_in() -> None:
    assert not [name for name in ALL if unfilled(compose(POLICIES, name, {}))]


@pytest.mark.parametrize(
    ("name", "like", "code"),
    [
        ("copper-basin", "fog-harbor", "already-there"),
        ("Umber Flat", "fog-harbor", "bad-name"),
        ("../out", "fog-harbor", "bad-name"),
        ("x" * 41, "fog-harbor", "bad-name"),
        (NEW, "fog-harbour", "unknown-market"),
    ],
)
def test_a_name_that_cannot_be_is_refused(tmp_path: Path, name: str, like: str, code: str) -> None:
    with pytest.raises(InputError) as caught:
        start((tmp_path, POLICIES), name, like, "")
    assert [fault.code for fault in caught.value.faults] == [code]
    assert list(tmp_path.iterdir()) == []


def test_a_source_half_filled_in_is_still_told_of_and_a_wrong_day_is_a_fault(tmp_path: Path) -> None:
    roots = _started(tmp_path, "copper-basin")
    path = tmp_path / f"codes/{NEW}/2026-01-01/code.toml"
    path.write_text(path.read_text().replace('cite = "?", edition = "?"', 'cite = "Code, 4.2", edition = "2021"', 1))
    assert any("adopted is `?`" in fault.found for fault in unfilled(compose(roots, NEW, {})))
    path.write_text(path.read_text().replace('adopted = "?"', 'adopted = "last year"', 1))
    with pytest.raises(PolicyError, match="adopted"):
        compose(roots, NEW, {})
