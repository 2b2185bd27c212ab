"""Sizes of lines under the shipped policies: which source governs, proofs, several ducts, what is not known."""

import math
from typing import Any

import pytest

from airwarrant.calculations.figures import take_step
from airwarrant.job.reading_records import parse_job
from airwarrant.job.readings import Reading
from airwarrant.sizing.source import best_known
from jobs import data, item, scope

CFM_PER_IN2_PA = 1.07  # Q = 1.07 A sqrt(dP), cfm, in2, Pa: Building Science Corporation, RR-0005


def _line(record: dict[str, Any], line: str, **how: Any) -> dict[str, Any]:
    return next(one for one in scope(record, **how)["lines"] if one["id"] == line)


def _velocity(flow: float, diameter: float) -> float:
    return flow / (math.pi * (diameter / 12.0) ** 2 / 4.0)


def _one_way_only(tons: float) -> dict[str, Any]:
    """1042 with no way for a second return: the one that is there is made larger."""
    record = data("1042")
    record["new"]["tons"] = tons
    item(record, "route", "living-route")["possible"] = "no"
    return record


def test_the_added_return_has_its_size_from_table_and_physics_and_the_larger_governs() -> None:
    line = _line(data("1042"), "add-return@living-route")
    duct, grille = line["sizes"]
    assert (line["size"], line["quantity"]) == ("18 in", 1)
    assert (duct["policy"]["name"], duct["policy"]["value"], duct["take"]["value"]) == (
        "added_return_diameter",
        18.0,
        16.0,
    )
    assert duct["governed"] == "table"
    # 60 % of 3.5 tons at 400 cfm a ton
    assert duct["calculated"]["inputs"]["flow_cfm"] == 840
    assert [proof["word"] for proof in duct["proofs"]] == ["pass"]
    assert duct["proofs"][0]["value"] == pytest.approx(_velocity(840, 18), abs=0.5)
    assert (grille["value"], grille["unit"]) == (420.0, "in2")  # 840 cfm at 2 cfm a square inch


def test_a_formula_outside_its_range_makes_the_size_doubtful_and_says_why() -> None:
    duct = _line(data("1042"), "add-return@living-route")["sizes"][0]
    assert duct["calculated"]["valid"]
    assert not duct["proofs"][0]["calculated"]["valid"]
    assert duct["doubtful"]
    assert any("measured from 6 to 16 in." in doubt for doubt in duct["doubts"])


@pytest.mark.parametrize(("tons", "table", "chosen"), [(2.5, 18, 18), (3.0, 18, 18), (4.0, 20, 22), (5.0, 22, 24)])
def test_a_return_too_fast_in_the_size_of_the_table_takes_the_next_one(tons: float, table: int, chosen: int) -> None:
    line = _line(_one_way_only(tons), "upsize-return@hall-return")
    size = line["sizes"][0]
    assert (size["policy"]["value"], size["value"]) == (table, chosen)
    assert (_velocity(400 * tons, table) > 700) == (chosen > table)
    assert _velocity(400 * tons, chosen) <= 700
    assert size["governed"] == ("proof" if chosen > table else "table")
    assert size["proofs"][0]["word"] == "pass"


@pytest.mark.parametrize(("fits", "count", "each"), [(18, 1, 18), (16, 2, 14), (14, 2, 14), (12, 3, 12), (10, 4, 10)])
def test_several_equal_ducts_have_at_least_the_area_of_the_one_that_does_not_fit(
    fits: int, count: int, each: int
) -> None:
    record = data("1042")
    item(record, "route", "living-route")["diameter"] = fits
    line = _line(record, "add-return@living-route")
    size = line["sizes"][0]
    assert (line["quantity"], size["count"], size["value"]) == (count, count, each)
    assert count * each**2 >= 18**2
    # each duct carries its share
    assert size["proofs"][0]["value"] == pytest.approx(_velocity(840 / count, each), abs=0.5)


def test_a_way_too_narrow_for_any_number_of_ducts_is_said_to_be_too_little() -> None:
    record = data("1042")
    item(record, "route", "living-route")["diameter"] = 6
    size = _line(record, "add-return@living-route")["sizes"][0]
    assert (size["governed"], size["doubtful"], size["value"]) == ("room", True, 6.0)
    assert "there is room for less than is needed" in size["doubts"]


def test_a_way_of_unknown_width_is_a_doubt_and_no_limit() -> None:
    record = data("1042")
    del item(record, "route", "living-route")["diameter"]
    size = _line(record, "add-return@living-route")["sizes"][0]
    assert size["value"] == 18.0
    assert "not known: diameter of living-route" in size["doubts"]


def test_a_wide_elbow_has_two_sizes_from_the_openings_of_the_new_unit() -> None:
    record = data("1042")
    item(record, "elbow", "roof-elbow").update(return_opening=301, supply_opening=240)
    back, ahead = _line(record, "replace-elbow@roof-elbow")["sizes"]
    assert (back["value"], ahead["value"]) == (math.ceil(0.95 * 301), math.ceil(0.95 * 240))
    assert not back["doubtful"]


def test_an_opening_nobody_recorded_is_confirmed_against_the_delivered_unit() -> None:
    record = data("1042")
    elbow = item(record, "elbow", "roof-elbow")
    elbow.pop("return_opening", None)
    elbow["supply_opening"] = 240
    back, ahead = _line(record, "replace-elbow@roof-elbow")["sizes"]
    assert back["text"] == "confirm against the delivered unit"
    assert "value" not in back
    assert back["doubts"] == ["not known: return_opening of roof-elbow"]
    assert ahead["text"] == "228 in2"


def test_altitude_and_heating_raise_the_air_that_is_sized_for() -> None:
    def flow(altitude: float | None, heat: float) -> float:
        record = data("1042")
        record["new"]["heat_min_flow"] = heat
        record["house"]["altitude"] = altitude
        if altitude is None:
            del record["house"]["altitude"]
        given: float = _line(record, "add-return@living-route")["sizes"][0]["calculated"]["inputs"]["flow_cfm"]
        return given

    assert flow(1150, 900) == 840  # below 2,000 ft the difference is left aside
    assert flow(None, 900) == 840
    assert flow(5280, 900) == round(0.6 * 1400 / 0.832)
    assert flow(1150, 1600) == 960
    assert flow(5280, 1600) == round(0.6 * 1600 / 0.832)


def _door(**room: Any) -> dict[str, Any]:
    """4471 with nothing known of the door of bed-2 but what is given."""
    record = data("4471")
    bedroom = item(record, "room", "bed-2")
    for name in ("door_width", "undercut", "transfer_area"):
        bedroom.pop(name, None)
    bedroom.update(room)
    return record


def test_a_transfer_path_gives_back_the_air_at_the_pressure_that_policy_designs_for() -> None:
    line = _line(_door(door_width=30), "transfer-grille@bed-2")
    net, height, jump = line["sizes"]
    inputs = net["calculated"]["inputs"]
    assert (inputs["limit_pa"], inputs["undercut_in"]) == (
        2,
        1,
    )  # under every market's limit; the door is trimmed first
    left = inputs["flow_cfm"] / (CFM_PER_IN2_PA * math.sqrt(2)) - 30 * 1
    assert net["policy"]["value"] == pytest.approx(inputs["flow_cfm"] / 2.67, abs=1)
    assert net["value"] == math.ceil(left)
    assert height["value"] == math.ceil(left / (0.75 * 12))
    assert jump["value"] == math.ceil(math.sqrt(4 * left / math.pi))
    assert line["size"] == f"{math.ceil(left)} in2"


def test_a_door_that_is_not_trimmed_counts_with_the_gap_it_has() -> None:
    trimmed = _line(_door(door_width=30), "transfer-grille@bed-2")["sizes"][0]
    as_it_is = _line(_door(door_width=30, undercut_ok="unknown", undercut=0.5), "transfer-grille@bed-2")["sizes"][0]
    nothing = _line(_door(door_width=30, undercut_ok="unknown"), "transfer-grille@bed-2")["sizes"][0]
    assert as_it_is["value"] == pytest.approx(trimmed["value"] + 15, abs=1)
    assert nothing["value"] == pytest.approx(trimmed["value"] + 30, abs=1)


def test_a_grille_of_nothing_is_said_in_words() -> None:
    line = _line(_door(door_width=72), "transfer-grille@bed-2")
    assert line["size"] == "none: the trimmed door is enough"
    assert line["sizes"][0]["value"] == 0.0


def test_a_door_is_trimmed_no_further_than_policy_allows_and_the_rest_is_shown() -> None:
    size = _line(_door(door_width=30), "undercut-door@bed-2")["sizes"][0]
    assert (size["value"], size["governed"]) == (1.0, "room")
    assert size["proofs"][0]["word"] == "fail"
    assert size["proofs"][0]["value"] > 0


def test_a_wide_door_is_trimmed_by_the_least_step_that_is_enough() -> None:
    size = _line(_door(door_width=72), "undercut-door@bed-2")["sizes"][0]
    flow = size["proofs"][0]["calculated"]["inputs"]["flow_cfm"]
    needed = flow / (CFM_PER_IN2_PA * math.sqrt(5)) / 72
    assert size["value"] == math.ceil(needed / 0.25) * 0.25 < 1.0
    assert size["proofs"][0]["word"] == "pass"


def test_a_larger_grille_keeps_to_loading_and_velocity() -> None:
    size = _line(data("2718"), "enlarge-filter-grille@house")["sizes"][0]
    assert (size["text"], size["policy"]["value"]) == ("600 in2", 600.0)
    loading, face = size["proofs"]
    assert (loading["word"], loading["value"]) == ("pass", 2.0)
    assert (face["word"], face["value"]) == ("pass", round(1200 / (600 / 144)))


def test_air_heated_with_a_higher_minimum_asks_for_a_larger_grille() -> None:
    record = data("2718")
    record["new"]["heat_min_flow"] = 1250
    size = _line(record, "enlarge-filter-grille@house")["sizes"][0]
    assert (size["value"], size["governed"]) == (640.0, "proof")  # 625 in2 at 2 cfm a square inch, in steps of 20


def test_sizes_take_what_is_predicted_before_what_was_found_and_never_the_old_units_numbers() -> None:
    import tomli_w

    record = parse_job(tomli_w.dumps(data("4471")).encode(), "job.toml")
    found = best_known(record, {})("bed-2", "flow", "predicted")
    assert found is not None
    predicted = Reading(99.0, "cfm", "predicted", 5.0, "", None, None, "", {})
    known = best_known(record, {("bed-2", "flow"): predicted})("bed-2", "flow", "predicted")
    assert known is not None
    assert (known.value, known.state) == (99.0, "predicted")
    assert best_known(record, {})("house", "tons", "predicted") == record.new["tons"]
    raw = data("4471")
    raw["old"]["seer"] = 12
    raw["new"].pop("seer", None)
    other = parse_job(tomli_w.dumps(raw).encode(), "job.toml")
    assert best_known(other, {})("house", "seer", "predicted") is None


def test_steps_over_what_is_known_take_the_largest_and_the_first() -> None:
    assert take_step("largest_known_of", [(2.0, 0.1), (3.0, 0.2)]) == (3.0, 0.2)
    assert take_step("first_known_of", [(2.0, 0.1), (3.0, 0.2)]) == (2.0, 0.1)


def test_every_size_names_the_policy_values_it_read_in_the_trace() -> None:
    result = scope(data("1042"))
    read = {
        "added_return_diameter",
        "return_friction",
        "flex_compression",
        "added_return_share",
        "return_velocity_most",
    }
    assert read <= set(result["trace"]["policy"])
