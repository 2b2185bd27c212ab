"""What the air network asks of the survey before an offer, and what it refuses to promise."""

from typing import Any

import pytest
import tomli_w

from airwarrant.air.network_parts import NotConverged
from airwarrant.errors import AirFault
from airwarrant.house import solved
from airwarrant.job.reading_records import parse_job
from airwarrant.session import Session
from jobs import POLICIES, data, item, scope, states


def _unread(record: dict[str, Any]) -> dict[str, Any]:
    """1042 where nobody read the return duct and the elbow's return leg: the static leaves their sum, not their parts."""
    visit = record["visit"][0]
    visit.pop("return_duct_drop")
    item(visit, "elbow", "roof-elbow").pop("return_leg")
    del record["new"]["blower"]["setting"][1]
    return record


def _asked(result: dict[str, Any], why: str) -> list[tuple[str, str]]:
    return [(r["reading"], r["subject"]) for r in result["retests"] if r.get("why") == why]


def test_an_answer_that_hangs_on_a_drop_nobody_read_waits_for_that_drop() -> None:
    record = _unread(data("1042"))
    static = scope(record)["predictions"]["scope"]["readings"]["house"]["external_static"]
    # A nameplate just above the prediction: how the unread drops share what is left decides on which side it falls.
    record["new"]["static_max"] = round(static["value"] + 0.001, 3)
    result = scope(record)
    asked = _asked(result, "read-this-drop")
    assert asked
    assert set(asked) <= {("return_duct_drop", "house"), ("return_leg", "roof-elbow")}
    assert result["sellable"]["answer"] == "held"
    shown = next(r for r in result["retests"] if r.get("why") == "read-this-drop")
    assert shown["when"] == "before-sale"
    assert any(verdict.startswith("nameplate@house") for verdict in shown["verdicts"])


def test_with_every_drop_read_nothing_is_asked_for() -> None:
    for job in ("1042", "4471", "5560", "2718", "3390"):
        assert not [r for r in scope(data(job))["retests"] if "why" in r]


def test_two_readings_of_one_flow_that_disagree_hold_the_offer_and_name_the_cheaper() -> None:
    record = data("1042")
    record["visit"][0]["register_flow"] = 640
    result = scope(record)
    assert result["predictions"]["calibration"]["conflict"]
    assert _asked(result, "readings-disagree")
    assert result["sellable"]["answer"] == "held"


def test_a_return_that_loses_far_more_than_its_size_explains_is_looked_at_before_a_second_one_is_sold() -> None:
    record = data("1042")
    visit = record["visit"][0]
    # A 20-inch duct that loses what the 14-inch one lost is crushed somewhere, or is not a 20-inch duct.
    item(record, "return", "hall-return")["diameter"] = 20
    result = scope(record)
    drop = result["predictions"]["calibration"]["drops"][0]
    assert drop["ratio"] > 3
    assert drop["measured"] == pytest.approx(visit["return_duct_drop"])
    assert ("return-obstructed", "hall-return") in {(f["finding"], f["at"]) for f in result["findings"]}
    assert states(result)["add-return@living-route"] == "held"


def test_a_prediction_far_beyond_the_blowers_table_passes_nothing() -> None:
    record = data("1042")
    for setting in record["new"]["blower"]["setting"]:
        # A table that ends long before this house's pressures begin.
        setting["table"] = [[0.05, 2400], [0.10, 2390], [0.15, 2380]]
    result = scope(record)
    option = result["predictions"]["scope"]
    assert not option["valid"]
    assert any("outside the blower table" in note for note in option["notes"])
    predicted = [
        v for v in result["verdicts"] if v["time"] == "predicted" and v.get("reading", {}).get("state") == "doubtful"
    ]
    assert predicted
    assert "pass" not in {v["word"] for v in predicted}


def test_a_network_that_is_not_solved_is_an_error_with_the_network_and_no_number(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse(network: Any, **_: Any) -> Any:
        raise NotConverged(network, "no solution within 40 iterations")

    monkeypatch.setattr(solved, "solve", refuse)
    record = parse_job(tomli_w.dumps(data("1042")).encode(), "job.toml")
    # A session of its own: `scope` remembers what it evaluated.
    with (
        Session(POLICIES) as session,
        pytest.raises(AirFault, match="job 1042: the air network was not solved") as caught,
    ):
        session.evaluate(record, check_both=True)
    assert caught.value.network.links
    assert caught.value.exit_status == 3
