"""Job 3390: a constant-airflow blower hides a restriction; sealing alone would put the unit over its nameplate."""

from copy import deepcopy
from typing import Any

import pytest

from jobs import data, scope

FLEX = ("replace-flex-run@bed-2-run", "replace-flex-run@primary-run")
RETURN = "add-return@living-route"


def _without(*lines: str) -> dict[str, Any]:
    record = deepcopy(data("3390"))
    record["override"] = [
        {"line": line, "decision": "left-out", "by": "demo", "reason": "to see the rest alone"} for line in lines
    ]
    return scope(record)


def _static(result: dict[str, Any]) -> float:
    return float(result["predictions"]["scope"]["readings"]["house"]["external_static"]["value"])


@pytest.fixture(scope="module")
def whole() -> dict[str, Any]:
    return scope(data("3390"))


def test_airflow_passes_as_found_while_static_and_watts_fail(whole: dict[str, Any]) -> None:
    words = {v["id"]: v["word"] for v in whole["verdicts"]}
    assert words["airflow@house/found"] == "pass"
    assert words["external-static@house/found"] == words["fan-power@house/found"] == "fail"
    assert "hidden-restriction" in {f["finding"] for f in whole["findings"]}


def test_sealing_alone_goes_over_the_nameplate_and_holds_the_offer(whole: dict[str, Any]) -> None:
    sealed = _without(*FLEX, RETURN)
    assert sealed["sellable"]["answer"] == "held"
    assert any(miss.startswith("nameplate") for miss in sealed["predictions"]["scope"]["misses"])
    found = next(one for one in whole["predictions"]["like_for_like"] if one["setting"] == "350 a ton")
    assert _static(sealed) > found["readings"]["house"]["external_static"]["value"]


def test_all_of_it_together_is_within_the_nameplate_and_too_close_to_the_companys_ceiling(
    whole: dict[str, Any],
) -> None:
    assert whole["sellable"]["answer"] == "yes"
    assert whole["predictions"]["scope"]["misses"] == []
    assert [close.partition("@")[0] for close in whole["predictions"]["scope"]["close"]] == ["external-static"]
    accepted = {one["check"]: (one["limit"], one["gate"]) for one in whole["acceptance"]}
    # The nameplate gates hand-over, the company's lower ceiling does not: missed, it makes acceptance conditional.
    assert accepted["nameplate"] == (0.8, True)
    assert accepted["external-static"] == (0.6, False)
