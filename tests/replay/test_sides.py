"""A side composes from its texts what its folder composes, with the same faults; `compose` on the folder is the oracle."""

import shutil
import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from sides_of_a_change import MARKET, POLICIES, STRICTER_DOORS, changed_folder

from airwarrant.errors import PolicyError
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names
from airwarrant.replay.sides import Policies, side


@pytest.mark.parametrize("market", market_names(POLICIES))
def test_every_market_composes_from_texts_alone(market: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    folder = shutil.copytree(POLICIES, tmp_path / "policies")
    held = side((folder,), market)
    expected = compose(folder, market, {})
    shutil.rmtree(folder)
    monkeypatch.setattr(tempfile, "mkdtemp", None)
    found = Policies(held).policy()
    assert found == expected
    assert found.digest == expected.digest


def test_a_job_s_own_market_and_dates_decide(tmp_path: Path) -> None:
    own = Policies(side((POLICIES,), "own"))
    days = {"survey": date(2027, 3, 1), "permit": date(2027, 5, 1)}
    for market in market_names(POLICIES):
        assert own.policy(market, days).digest == compose(POLICIES, market, days).digest
    assert own.policy(MARKET, days) is own.policy(MARKET, {"survey": date(2027, 4, 1)})


def test_a_market_or_layer_is_taken_from_the_first_folder_that_holds_it(tmp_path: Path) -> None:
    folder = changed_folder(tmp_path / "changed", STRICTER_DOORS)
    shutil.rmtree(folder / "companies")
    roots = (folder, POLICIES)
    assert Policies(side(roots, MARKET)).policy().digest == compose(roots, MARKET, {}).digest


def _no_layer(folder: Path) -> None:
    shutil.rmtree(folder / "regions/hot-dry")


def _twice(folder: Path) -> None:
    file = folder / f"markets/{MARKET}.toml"
    file.write_text(file.read_text().replace('"trade"', '"trade", "trade"'))


def _no_text(folder: Path) -> None:
    file = folder / "trade/2026-01-01/limits.toml"
    file.write_bytes(file.read_bytes() + b"\n# \xff\n")


def _no_toml(folder: Path) -> None:
    file = folder / f"markets/{MARKET}.toml"
    file.write_text(file.read_text() + "\n[market\n")


def _not_yet(folder: Path) -> None:
    (folder / "regions/hot-dry/2026-01-01").rename(folder / "regions/hot-dry/2099-01-01")


@pytest.mark.parametrize("spoil", [_no_layer, _twice, _no_text, _no_toml, _not_yet])
def test_a_broken_folder_is_refused_in_the_same_words(spoil: Callable[[Path], None], tmp_path: Path) -> None:
    folder = shutil.copytree(POLICIES, tmp_path / "policies")
    spoil(folder)
    day = {"survey": date(2027, 1, 1)}
    with pytest.raises(PolicyError) as expected:
        compose(folder, MARKET, day)
    with pytest.raises(PolicyError) as found:
        Policies(side((folder,), f"{MARKET}@2027-01-01")).policy()
    assert found.value.faults == expected.value.faults


def test_a_market_that_is_not_there_is_refused_in_the_same_words() -> None:
    with pytest.raises(PolicyError) as expected:
        compose(POLICIES, "coper-basin", {})
    with pytest.raises(PolicyError) as found:
        Policies(side((POLICIES,), "coper-basin")).policy()
    assert found.value.faults == expected.value.faults
