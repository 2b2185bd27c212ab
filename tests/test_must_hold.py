"""What must hold on every job, tried by changing the demo jobs."""

import tomllib
from pathlib import Path
from shutil import copytree
from typing import Any

import pytest

from jobs import JOBS, POLICIES, data, declined, item, scope, states, tasks

AIRFLOW = {
    name
    for name, task in tomllib.loads((POLICIES / "trade/2026-01-01/tasks.toml").read_text())["task"].items()
    if "airflow" in task.get("groups", [])
}
STATICS = ("return_static", "supply_static")


@pytest.mark.parametrize("missing", [("return_static",), ("supply_static",), STATICS])
@pytest.mark.parametrize("job", JOBS)
def test_nothing_of_airflow_is_prescribed_without_measured_statics(job: str, missing: tuple[str, ...]) -> None:
    record = data(job)
    for visit in record["visit"]:
        for name in missing:
            visit.pop(name, None)
    result = scope(record)
    assert not tasks(result, "scoped", "earlier") & AIRFLOW
    for line in result["lines"]:
        if line["task"] in AIRFLOW:
            assert "measure-first" in {hold["name"] for hold in line["held_by"]}, line["id"]
    assert "measure-first" in _holds(result)


@pytest.mark.parametrize("state", ["stated", "assumed", "table"])
def test_a_static_that_was_not_measured_is_no_static(state: str) -> None:
    record = data("1042")
    for name in STATICS:
        record["visit"][0][name] = {"value": _value(record["visit"][0][name]), "state": state}
    assert not tasks(scope(record), "scoped") & AIRFLOW


def test_safety_and_what_was_opened_stay_without_statics() -> None:
    record = data("2718")
    for name in STATICS:
        record["visit"][0].pop(name)
    got = states(scope(record))
    assert got["line-platform-return@closet-platform"] == "scoped"
    assert got["combustion-test@closet"] == "scoped"
    assert got["seal-cabinet@house"] == "scoped"


def test_elbow_comes_before_plenum_and_plenum_before_added_return() -> None:
    record = data("1042")
    for plenum in record["plenum"]:
        plenum["sound"] = "no"
    result = scope(record)
    order = {line["task"]: line["order"] for line in result["lines"]}
    assert order["replace-elbow"] < order["new-return-plenum"] < order["add-return"]
    assert order["replace-elbow"] < order["new-supply-plenum"]


def test_without_the_elbow_no_plenum_and_without_the_plenum_no_return() -> None:
    record = data("1042")
    for plenum in record["plenum"]:
        plenum["sound"] = "no"
    record["override"] = [
        {"line": "replace-elbow@roof-elbow", "decision": "left-out", "reason": "the owner will wait", "by": "estimator"}
    ]
    got = states(scope(record))
    assert got["new-supply-plenum@supply-plenum"] == "held"
    assert got["new-return-plenum@return-plenum"] == "held"
    assert got["add-return@living-route"] == "held"


def test_a_second_duct_into_the_same_opening_is_not_an_added_return() -> None:
    for lands in ("same-box", "same-grille"):
        record = data("1042")
        item(record, "route", "living-route")["lands"] = lands
        result = scope(record)
        assert "add-return" not in tasks(result, "scoped", "held")
        assert declined(result)["add-return@living-route"]["rule"] == "scope.same-opening"


def test_a_bedroom_return_needs_balance_and_a_measured_door_over_the_limit() -> None:
    record = data("4471")
    item(record, "room", "bed-2")["transfer_ok"] = "no"
    balanced = scope(record)
    assert states(balanced)["bedroom-return@bed-2"] == "scoped"
    record["visit"] = [v for v in record["visit"] if v["kind"] == "test-in"]
    assert "bedroom-return" not in tasks(scope(record), "scoped")
    record = data("4471")
    item(record, "room", "bed-2")["transfer_ok"] = "no"
    for visit in record["visit"]:
        for room in visit["room"]:
            room.pop("door_pressure", None)
    assert "bedroom-return" not in tasks(scope(record), "scoped", "held")


def test_a_failing_zone_holds_all_that_pulls_on_it_and_lifts_exactly_the_cure() -> None:
    pulls = {
        name
        for name, task in tomllib.loads((POLICIES / "trade/2026-01-01/tasks.toml").read_text())["task"].items()
        if "pulls-on-zone" in task.get("groups", [])
    }
    result = scope(data("2718"))
    standing = {line["id"] for line in result["lines"] if line["task"] in pulls and line["state"] == "scoped"}
    assert standing == {"line-platform-return@closet-platform"}
    (cure,) = [line for line in result["lines"] if line["task"] == "line-platform-return"]
    assert [lift["hold"] for lift in cure["lifted_by"]] == ["draft"]
    assert cure["tier"] == "required"


def test_an_untested_zone_holds_what_pulls_on_it() -> None:
    record = data("2718")
    for visit in record["visit"]:
        for zone in visit.get("zone", []):
            zone.pop("draft", None)
    got = states(scope(record))
    assert got["seal-ducts@house"] == "held"
    assert got["line-platform-return@closet-platform"] == "held"
    assert got["combustion-test@closet"] == "scoped"


def test_a_hazard_that_is_unknown_counts_as_there() -> None:
    record = data("2718")
    item(record, "zone", "closet").pop("open_draft")
    assert states(scope(record))["seal-ducts@house"] == "held"


def test_a_predicted_miss_of_the_nameplate_holds_the_proposal() -> None:
    record = data("1042")
    record["new"]["static_max"] = 0.4
    result = scope(record)
    assert result["sellable"]["answer"] == "held"
    assert "over-nameplate" in _holds(result)
    assert any(miss["target"] == "nameplate" for miss in result["misses"])


def test_a_predicted_miss_of_an_equipment_minimum_holds_the_proposal() -> None:
    for key, value in (("maker_min_per_ton", 450), ("heat_min_flow", 1900)):
        record = data("1042")
        record["new"][key] = value
        result = scope(record)
        assert result["sellable"]["answer"] == "held", key
        assert "under-maker-minimum" in _holds(result)


def test_a_reading_that_is_missing_never_counts_as_fine() -> None:
    """Taking out any one reading of a healthy house must not leave the house called healthy on the strength of it."""
    whole = data("5560")
    assert any(f["finding"] == "healthy" for f in scope(whole)["findings"])
    for name in ("external_static", "airflow", "leakage_25"):
        record = data("5560")
        record["visit"][0].pop(name)
        result = scope(record)
        assert not any(f["finding"] == "healthy" for f in result["findings"]), name
        assert all(v["word"] != "pass" for v in result["verdicts"] if name in _read_by(v) and v["time"] == "found")
    for room in whole["visit"][0]["room"]:
        record = data("5560")
        item(record["visit"][0], "room", room["id"]).pop("flow", None)
        assert not any(f["finding"] == "healthy" for f in scope(record)["findings"]), room["id"]


def test_an_owner_who_changes_15_to_3_in_one_place_sees_door_lines_held_until_balancing(tmp_path: Path) -> None:
    copytree(POLICIES, tmp_path / "policies")
    file = tmp_path / "policies/regions/hot-dry/2026-01-01/limits.toml"
    text = file.read_text()
    assert text.count("[0, 15]") == 1
    before = scope(data("1042"), policies=tmp_path / "policies")
    file.write_text(text.replace("[0, 15]", "[0, 3]"))
    after = scope(data("1042"), policies=tmp_path / "policies")
    assert not tasks(before, "scoped", "held") & {"undercut-door", "transfer-grille", "bedroom-return"}
    doors = [line for line in after["lines"] if line["task"] in ("undercut-door", "transfer-grille")]
    assert {line["place"] for line in doors if line["task"] == "undercut-door"} == {"primary", "bed-2", "bed-3"}
    assert {line["state"] for line in doors} == {"held"}
    assert {hold["name"] for line in doors for hold in line["held_by"]} == {"balance-first"}
    limits = {
        v["limit"]["value"]
        for v in after["verdicts"]
        for line in doors
        if v["id"] in line["readings"]
        if v["check"] == "door-pressure"
    }
    assert limits == {3.0}
    assert "bedroom-return" not in tasks(after, "scoped", "held")


def test_the_same_door_is_fine_in_one_market_and_a_line_in_another() -> None:
    assert not tasks(scope(data("1042")), "scoped", "held") & {"undercut-door"}
    assert "undercut-door" in tasks(scope(data("1042"), market="clay-hollow"), "scoped", "held")


def test_carbon_monoxide_over_the_limit_stops_the_job() -> None:
    for reading, stop in ((40, "stop-and-ventilate"), (90, "leave-and-call"), (34, "stop-and-ventilate")):
        record = data("1042")
        record["visit"][0]["ambient_co"] = reading  # 34 ± 3 reaches 35: doubt counts against
        result = scope(record)
        assert [s["name"] for s in result["stops"]] == [stop]
        assert result["sellable"]["answer"] == "no"


def test_what_the_homeowner_leaves_out_is_kept_as_left_out_and_safety_is_not() -> None:
    record = data("2718")
    record["override"] = [
        {"line": name, "decision": "left-out", "reason": "not now", "by": "estimator"}
        for name in ("reseal-plenum@supply-plenum", "line-platform-return@closet-platform")
    ]
    result = scope(record)
    assert declined(result)["reseal-plenum@supply-plenum"]["how"] == "left-out"
    assert states(result)["line-platform-return@closet-platform"] == "scoped"
    assert [o["taken"] for o in result["overrides"]] == [True, False]


def test_a_scope_whose_last_prediction_no_rule_has_seen_is_no_offer(tmp_path: Path) -> None:
    copytree(POLICIES, tmp_path / "policies")
    file = tmp_path / "policies/companies/demo-company/2026-01-01/one-round.toml"
    file.write_text('[policy]\ntitle = "One round"\nreview_by = 2027-01-01\n[parameter.rounds_most]\nvalue = 1\n')
    record = data("1042")
    record["new"]["static_max"] = 0.4
    result = scope(record, policies=tmp_path / "policies")
    assert result["sellable"]["answer"] == "held"
    assert any("settled" in why for why in result["sellable"]["why"])


def test_an_empty_survey_is_no_offer_and_says_what_to_read_and_what_waits() -> None:
    bare = {
        "format": "airwarrant/job/1",
        "id": "bare",
        "market": "copper-basin",
        "units": "ip",
        "dates": data("1042")["dates"],
    }
    result = scope(bare)
    assert result["sellable"]["answer"] == "held"
    assert {"return_static", "supply_static"} <= {r["reading"] for r in result["retests"] if r["when"] == "before-sale"}
    assert {"measure-first", "zone-not-surveyed"} <= _holds(result)
    # What nobody has ruled out is guarded against; nothing is sold beside that.
    guards = {line["id"] for line in result["lines"] if line["tier"] == "required"}
    assert all(line["rule"].startswith("guard.") for line in result["lines"] if line["id"] in guards)
    assert {line["tier"] for line in result["lines"] if line["id"] not in guards} == {"included"}


def test_two_rules_against_each_other_are_reported_and_the_line_waits(tmp_path: Path) -> None:
    copytree(POLICIES, tmp_path / "policies")
    file = tmp_path / "policies/companies/demo-company/2026-01-01/against.toml"
    file.write_text(
        """
[policy]
title = "A rule that contradicts another"
review_by = 2027-01-01
[[rule]]
id = "scope.never-an-elbow"
title = "No elbow is ever changed"
stage = "scope"
each = "elbow"
then = [{ decline = "task:replace-elbow", because = "we do not do roofs" }]
basis = { kind = "demo" }
edit = "company"
"""
    )
    result = scope(data("1042"), policies=tmp_path / "policies")
    (contradiction,) = result["contradictions"]
    assert contradiction["code"] == "contradiction"
    assert contradiction["line"] == "replace-elbow@roof-elbow"
    assert set(contradiction["rules"]) == {"scope.wide-elbow", "scope.never-an-elbow"}
    assert states(result)["replace-elbow@roof-elbow"] == "held"


def _value(reading: Any) -> float:
    return float(reading["value"] if isinstance(reading, dict) else reading)


def _holds(result: dict[str, Any]) -> set[str]:
    return {hold["name"] for hold in result["holds"]}


def _read_by(verdict: dict[str, Any]) -> set[str]:
    def names(number: dict[str, Any]) -> set[str]:
        return {number["name"]} | {name for part in number.get("parts", []) for name in names(part)}

    return names(verdict["reading"]) if "reading" in verdict else set()
