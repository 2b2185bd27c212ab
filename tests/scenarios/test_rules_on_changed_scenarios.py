"""What the shipped rules say when one thing of a scenario is otherwise."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from airwarrant.job.reading_records import parse_job
from airwarrant.session import Session

ROOT = Path(__file__).resolve().parents[2]
Changed = Callable[..., dict[str, Any]]


@pytest.fixture(scope="module")
def changed() -> Iterator[Changed]:
    """Evaluate a scenario after replacing pieces of its text; every piece must stand in it."""
    with Session(ROOT / "policies") as session:

        def run(job: str, *pieces: tuple[str, str], market: str = "") -> dict[str, Any]:
            text = (ROOT / "scenarios" / f"job-{job}.toml").read_text()
            for old, new in pieces:
                assert old in text, old
                text = text.replace(old, new)
            return session.evaluate(parse_job(text.encode(), f"job-{job}.toml"), market=market)

        yield run


def _held(result: dict[str, Any]) -> dict[str, set[str]]:
    return {line["id"]: {h["name"] for h in line["held_by"]} for line in result["lines"] if line["held_by"]}


def _scoped(result: dict[str, Any]) -> set[str]:
    return {line["id"] for line in result["lines"] if line["state"] == "scoped"}


def _findings(result: dict[str, Any]) -> set[str]:
    return {f["finding"] for f in result["findings"]}


@pytest.mark.parametrize("state", ["stated", "assumed", "table"])
def test_without_measured_static_all_airflow_work_is_held_and_resealing_is_not(changed: Changed, state: str) -> None:
    piece = 'return_static = { value = -0.48, state = "measured"'
    result = changed("1042", (piece, piece.replace("measured", state)))
    held = _held(result)
    assert "measure-first" in held["replace-elbow@roof-elbow"]
    assert "measure-first" in held["balance-rooms@house"]
    assert {"seal-cabinet@house", "reseal-plenum@supply-plenum", "test-in@house"} <= _scoped(result)


def test_a_dead_unit_leaves_airflow_work_to_start_up(changed: Changed) -> None:
    result = changed("1042", ('runs = "yes"', 'runs = "no"'))
    assert "decide-at-start-up" in _held(result)["replace-elbow@roof-elbow"]
    assert "test-in@house" not in _scoped(result)


def test_a_dirty_filter_holds_return_capacity_and_asks_for_a_clean_one(changed: Changed) -> None:
    result = changed("1042", ('filter = "clean"', 'filter = "loaded"'))
    assert _held(result)["add-return@living-route"] == {"dirty-filter"}
    assert ("external_static", "before-sale") in {(r["reading"], r["when"]) for r in result["retests"]}
    assert "filter-small" not in _findings(result)


def test_static_that_does_not_add_up_holds_airflow_work(changed: Changed) -> None:
    result = changed("1042", ("external_static = { value = 0.86", "external_static = { value = 0.78"))
    assert "static-does-not-add-up" in _held(result)["replace-elbow@roof-elbow"]


def test_suspect_wrap_holds_every_opened_joint_and_all_sealing(changed: Changed) -> None:
    wrap = '[[material]]\nid = "old-wrap"\nsuspect_asbestos = "unknown"\ncut_needed = "yes"\n\n[[zone]]\nid = "indoors"'
    held = _held(changed("1042", ('[[zone]]\nid = "indoors"', wrap)))
    for line in ("replace-elbow@roof-elbow", "seal-cabinet@house", "seal-ducts@house", "reseal-plenum@supply-plenum"):
        assert held[line] == {"asbestos"}


def test_an_elbow_that_cannot_be_changed_does_not_hold_the_second_return_for_ever(changed: Changed) -> None:
    result = changed("1042", ('roof_access = "yes"', 'roof_access = "no"'))
    assert ("replace-elbow@roof-elbow", "scope.elbow-no-access") in {(d["line"], d["rule"]) for d in result["declined"]}
    assert "add-return@living-route" in _scoped(result)


def test_a_second_return_waits_for_the_elbow_and_for_a_defective_return_plenum(changed: Changed) -> None:
    held = _held(changed("1042", ('roof_access = "yes"', "")))
    assert held["replace-elbow@roof-elbow"] == {"roof-access"}
    assert held["add-return@living-route"] == {"needs:replace-elbow"}
    result = changed("1042", ('side = "return"\nfits = "yes"', 'side = "return"\nfits = "no"'))
    after = {line["id"]: line["order"] for line in result["lines"]}
    chain = ["replace-elbow@roof-elbow", "new-return-plenum@return-plenum", "add-return@living-route"]
    assert [after[line] for line in chain] == sorted(after[line] for line in chain)


def test_low_airflow_at_low_static_declines_airflow_work_but_not_the_fan_setting(changed: Changed) -> None:
    result = changed(
        "5560",
        ("return_static = -0.19", "return_static = -0.10"),
        ("supply_static = 0.24", "supply_static = 0.12"),
        ("external_static = 0.43", "external_static = 0.22"),
        ('airflow = { value = 1008, state = "table" }', 'airflow = { value = 700, state = "measured" }'),
    )
    assert "not-the-ducts" in _findings(result)
    assert "fan-setting@house" in _scoped(result)
    declined = {d["line"]: d["rule"] for d in result["declined"]}
    assert declined["enlarge-filter-grille@house"] == "find.not-the-ducts"


def test_a_house_whose_flames_nobody_looked_for_is_not_healthy(changed: Changed) -> None:
    assert "healthy" in _findings(changed("5560"))
    zone = (
        '[[zone]]\nid = "indoors"\nnote = "All-electric house: no fuel appliance of any kind."\n'
        'open_draft = "no"\nreturn_leak_here = "no"\n'
    )
    assert "healthy" not in _findings(changed("5560", (zone, "")))
    result = changed("5560", ('open_draft = "no"\nreturn_leak_here = "no"', 'open_draft = "unknown"'))
    assert "healthy" not in _findings(result)
    assert "combustion-test@indoors" in _scoped(result)


def test_without_a_room_reading_nothing_is_called_healthy(changed: Changed) -> None:
    assert "healthy" not in _findings(changed("5560", ("flow = 38\n", "")))


def test_a_leak_nobody_has_seen_cures_nothing(changed: Changed) -> None:
    result = changed("2718", ('return_leak_here = "yes"', 'return_leak_here = "unknown"'))
    assert _held(result)["line-platform-return@closet-platform"] == {"draft"}


def test_the_cure_frees_no_platform_of_another_zone(changed: Changed) -> None:
    other = '[[platform]]\nid = "garage-platform"\nlining = "bare"\nopenings = "yes"\nmoisture = "no"\n\n[[grille]]'
    result = changed("2718", ("[[grille]]", other))
    assert _held(result)["line-platform-return@garage-platform"] == {"draft"}
    assert "line-platform-return@closet-platform" in _scoped(result)


@pytest.mark.parametrize("moisture", ["yes", "unknown"])
def test_a_wet_or_unseen_platform_is_not_sealed_even_as_the_cure(changed: Changed, moisture: str) -> None:
    held = _held(changed("2718", ('moisture = "no"', f'moisture = "{moisture}"')))
    assert held["line-platform-return@closet-platform"] == {"wet-platform"}


def test_spillage_and_carbon_monoxide_stop_the_job(changed: Changed) -> None:
    assert {s["name"] for s in changed("2718", ("spill = 42", "spill = 57"))["stops"]} == {"appliance-off"}
    assert {s["name"] for s in changed("2718", ("ambient_co = 3", "ambient_co = 33"))["stops"]} == {
        "stop-and-ventilate"
    }
    assert {s["name"] for s in changed("2718", ("ambient_co = 3", "ambient_co = 68"))["stops"]} == {"leave-and-call"}


def test_the_same_doors_call_for_relief_in_a_market_with_a_lower_limit(changed: Changed) -> None:
    held = _held(changed("1042", market="clay-hollow"))
    assert held["undercut-door@bed-2"] == {"balance-first"}
    assert held["transfer-grille@primary"] == {"balance-first"}


def test_a_bedroom_return_is_optional_after_balancing_where_no_transfer_path_is_acceptable(changed: Changed) -> None:
    result = changed("4471", ('transfer_ok = "yes"', 'transfer_ok = "no"'))
    lines = {line["id"]: line["tier"] for line in result["lines"] if line["state"] == "scoped"}
    assert lines["bedroom-return@bed-2"] == "optional"
    assert "transfer-grille@bed-2" not in lines


def test_a_constant_airflow_blower_cannot_hide_a_restriction(changed: Changed) -> None:
    kind = ('kind = "fixed-speed"', 'kind = "constant-airflow"')
    flow = ('airflow = { value = 1013, state = "table" }', 'airflow = { value = 1400, state = "measured" }')
    assert "hidden-restriction" in _findings(changed("1042", kind, flow))
    asked = {r["reading"] for r in changed("1042", kind, flow, ("power = 640\n", ""))["retests"]}
    assert "power" in asked
