"""Judging on the demo jobs: limits, tables, doubt, states, and what a verdict remembers."""

from typing import Any

import pytest

from jobs import data, item, scope


def verdict(result: dict[str, Any], check: str, subject: str = "house", time: str = "found") -> dict[str, Any]:
    return next(v for v in result["verdicts"] if v["id"] == f"{check}@{subject}/{time}")


def test_the_strictest_of_two_ceilings_governs_and_the_other_is_remembered() -> None:
    record = data("1042")
    record["old"]["static_max"] = 0.5
    got = verdict(scope(record), "external-static")
    assert got["limit"]["name"] == "static_max"
    assert got["limit"]["value"] == 0.5
    assert {c["name"] for c in got["considered"]} == {"static_max", "static_ceiling"}
    record["old"]["static_max"] = 0.9
    assert verdict(scope(record), "external-static")["limit"]["name"] == "static_ceiling"


def test_the_loosest_of_share_and_floor_governs_a_room() -> None:
    small, large = (verdict(scope(data("1042")), "room-flow", room) for room in ("hall", "living"))
    assert small["limit"]["value"] == pytest.approx(51 - 25)  # a small room may miss by 25 cfm
    assert large["limit"]["value"] == pytest.approx(0.8 * 223, abs=0.5)  # a large one by a fifth


@pytest.mark.parametrize(
    ("tons", "diameter"), [(1.5, 14), (2.0, 16), (2.5, 18), (3.0, 18), (3.5, 20), (4.0, 20), (4.5, 22), (5.0, 22)]
)
def test_half_sizes_take_the_next_row_of_the_return_table(tons: float, diameter: float) -> None:
    record = data("1042")
    record["new"]["tons"] = tons
    assert verdict(scope(record), "return-size", "hall-return", "predicted")["limit"]["value"] == diameter


def test_a_size_beyond_the_table_has_no_answer_and_says_so() -> None:
    record = data("1042")
    record["new"]["tons"] = 6
    got = [v for v in scope(record)["verdicts"] if v["id"] == "return-size@hall-return/predicted"]
    assert all(v["word"] == "unmeasured" for v in got)
    assert all("no row" in " ".join(v["missing"]) for v in got)


def test_a_word_keyed_table_answers_unmeasured_where_the_word_is_absent() -> None:
    record = data("2718")
    item(record, "zone", "closet").pop("vents")
    got = verdict(scope(record), "draft", "closet")
    assert got["word"] == "unmeasured"


def test_plus_or_minus_comes_from_the_record_else_from_policy() -> None:
    record = data("1042")
    record["visit"][0]["external_static"] = {"value": 0.86, "plus_minus": 0.2}
    result = scope(record)
    own = verdict(result, "external-static")
    assert own["word"] == "close"
    assert own["band"] == 0.2
    assert "plus_minus_from" not in own["reading"]
    usual = verdict(scope(data("1042")), "supply-static")
    assert usual["reading"]["plus_minus"] > 0


def test_a_rule_that_doubts_a_reading_widens_every_verdict_on_it() -> None:
    record = data("1042")
    plain = verdict(scope(record), "airflow")
    record["old"]["blower"].pop("table_includes")
    doubted = verdict(scope(record), "airflow")
    assert doubted["band"] > 1.5 * plain["band"]


def test_an_airflow_that_is_only_assumed_is_not_judged() -> None:
    record = data("1042")
    record["visit"][0]["airflow"] = {"value": 1013, "state": "assumed"}
    got = verdict(scope(record), "airflow")
    assert got["word"] == "unmeasured"
    assert "assumed" in got["missing"][0]


def test_the_newest_reading_on_the_old_unit_is_found_and_the_new_unit_never_feeds_it() -> None:
    record = data("4471")
    record["visit"].append(
        {
            "kind": "unit-off",
            "unit": "new",
            "date": record["visit"][-1]["date"],
            "room": [{"id": "bed-2", "door_pressure": 0.1}],
        }
    )
    record["visit"].append(
        {
            "kind": "test-out",
            "unit": "new",
            "date": record["visit"][-1]["date"],
            "room": [{"id": "bed-2", "door_pressure": 0.2}],
        }
    )
    result = scope(record)
    assert verdict(result, "door-pressure", "bed-2")["reading"]["value"] > 5
    assert verdict(result, "door-pressure", "bed-2", "test-out")["reading"]["value"] == 0.2


def test_a_close_verdict_asks_for_a_retest_only_where_it_decides_a_line() -> None:
    result = scope(data("1042"))
    decisive = {r["verdict"]: r for r in result["retests"] if "verdict" in r}
    close = {v["id"] for v in result["verdicts"] if v["word"] == "close"}
    assert decisive
    assert decisive.keys() < close
    assert all(r["lines"] for r in decisive.values())
    assert decisive["filter-drop@house/found"]["lines"] == ["enlarge-filter-grille@house"]


def test_only_a_reading_to_take_again_before_the_sale_holds_the_offer() -> None:
    record = data("1042")
    assert scope(record)["sellable"]["answer"] == "yes"
    record["visit"][0]["filter"] = "loaded"
    result = scope(record)
    assert result["sellable"]["answer"] == "held"
    assert any(r["when"] == "before-sale" for r in result["retests"])


def test_a_job_in_si_comes_out_as_the_same_job_in_inch_pound_units() -> None:
    ip = scope(data("5560"))
    converted = scope(_in_si(data("5560")))
    assert [(v["id"], v["word"]) for v in converted["verdicts"]] == [(v["id"], v["word"]) for v in ip["verdicts"]]


def _in_si(record: dict[str, Any]) -> dict[str, Any]:
    from airwarrant.job.dictionary import KINDS
    from airwarrant.units import convert

    fields = {f.key or f.name: f for kind in KINDS.values() for f in kind.fields.values() if f.unit}
    static, flow = KINDS["house"].fields["external_static"], KINDS["house"].fields["airflow"]

    def walk(node: Any) -> Any:
        if isinstance(node, list):
            return [walk(one) for one in node]
        if not isinstance(node, dict):
            return node
        out = {}
        for key, value in node.items():
            field = fields.get(key)
            if key == "table":
                out[key] = [
                    [convert(a, static.unit, static.si_unit), convert(b, flow.unit, flow.si_unit)] for a, b in value
                ]
            elif field is not None and isinstance(value, (int, float)) and not isinstance(value, bool):
                out[key] = convert(value, field.unit, field.si_unit)
            elif field is not None and isinstance(value, dict):
                width = {"F": ("F diff", "K")}.get(field.unit, (field.unit, field.si_unit))
                inner = {**value, "value": convert(value["value"], field.unit, field.si_unit)}
                if "plus_minus" in value:
                    inner["plus_minus"] = convert(value["plus_minus"], *width)
                out[key] = inner
            else:
                out[key] = walk(value)
        return out

    return {**walk(record), "units": "si"}
