"""What is found comes from the old unit, newest first; what is proved from test-out; nothing crosses."""

import json
from typing import Any

import pytest
from whole_record import WHOLE, as_json, whole

from airwarrant.job.lookup import reading, subjects, through
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord

RECORD = parse_job(WHOLE.encode(), "job.toml")


def changed(change: Any) -> JobRecord:
    data = json.loads(as_json(whole()))
    change(data)
    return parse_job(as_json(data), "job.json")


def value(record: JobRecord, key: str, field: str, time: str) -> float | None:
    one = reading(record, key, field, time)
    return one.value if one else None


def test_found_is_the_newest_visit_that_holds_the_reading() -> None:
    assert value(RECORD, "bed-2", "flow", "found") == 81
    assert value(RECORD, "bed-2", "door_pressure", "found") == 7.2
    assert value(RECORD, "house", "external_static", "found") == 0.86


def test_of_two_visits_on_one_day_the_later_in_the_record_is_newer() -> None:
    record = changed(lambda d: d["visit"][1].update(date="2026-07-14"))
    assert value(record, "bed-2", "flow", "found") == 81
    turned = changed(lambda d: (d["visit"][1].update(date="2026-07-14"), d["visit"].reverse()))
    assert value(turned, "bed-2", "flow", "found") == 72


@pytest.mark.parametrize(
    "change", [lambda d: d["visit"][2].update(unit="old"), lambda d: d["visit"][2].update(kind="after-balance")]
)
def test_neither_test_out_nor_the_new_unit_feeds_found(change: Any) -> None:
    record = changed(change)
    assert value(record, "bed-2", "flow", "found") == 81
    assert value(record, "house", "external_static", "found") == 0.86


def test_test_out_reads_only_test_out() -> None:
    assert value(RECORD, "house", "external_static", "test-out") == 0.6
    assert value(RECORD, "house", "return_static", "test-out") is None
    assert value(changed(lambda d: d["visit"].pop()), "bed-2", "flow", "test-out") is None


def test_equipment_figures_are_the_old_units_for_found_and_the_new_units_after() -> None:
    assert [value(RECORD, "house", "tons", time) for time in ("found", "predicted", "test-out")] == [3.5, 4, 4]
    bare = changed(lambda d: d["old"].pop("tons"))
    assert [value(bare, "house", "tons", time) for time in ("found", "predicted", "test-out")] == [None, 4, 4]


def test_predicted_holds_numbers_and_no_readings() -> None:
    assert value(RECORD, "bed-2", "target", "predicted") == 90
    assert value(RECORD, "house", "floor_area", "predicted") == 1720
    assert value(RECORD, "bed-2", "flow", "predicted") is None
    assert value(RECORD, "nobody", "flow", "found") is None


def test_age_runs_from_the_newest_visit_found_to_the_proposal_else_the_survey() -> None:
    assert value(RECORD, "house", "age", "found") == 2
    assert value(RECORD, "house", "age", "test-out") is None
    assert value(changed(lambda d: d["dates"].pop("proposal")), "house", "age", "found") == -1
    assert value(changed(lambda d: d.pop("visit")), "house", "age", "found") is None


def test_subjects_are_sorted_and_the_house_is_always_there() -> None:
    found = subjects(RECORD, True)
    assert [subject.key for subject in found["room"]] == ["bath", "bed-2"]
    assert found["appliance"][0].links == {"zone": "closet"}
    bare = parse_job(
        b'format = "airwarrant/job/1"\nid = "1"\nmarket = "m"\nunits = "ip"\ndates = { survey = 2026-07-14 }', "a.toml"
    )
    assert list(subjects(bare, False)) == ["house"]


def test_derived_words_follow_the_visits() -> None:
    house = subjects(RECORD, True)["house"][0]
    assert {name: house.word(name) for name in ("tested", "jurisdiction_known", "filter_state", "doors_state")} == {
        "tested": "yes",
        "jurisdiction_known": "yes",
        "filter_state": "clean",
        "doors_state": "open",
    }
    assert house.word("fan_setting_known") == "no", "the newest visit, after the balance, does not name it"
    first = through(RECORD, 0)
    assert subjects(first, False)["house"][0].word("fan_setting_known") == "yes"
    assert subjects(first, False)["house"][0].word("jurisdiction_known") == "no"
    assert subjects(first, False)["house"][0].word("doors_state") == "unknown"


def test_rooms_are_balanced_if_a_visit_after_the_balance_was_on_the_old_unit() -> None:
    assert {room.word("balanced") for room in subjects(RECORD, True)["room"]} == {"yes"}
    assert {room.word("balanced") for room in subjects(through(RECORD, 0), True)["room"]} == {"no"}


def test_the_record_through_a_visit_is_the_record_written_without_the_later_ones() -> None:
    assert through(RECORD, 2).digest == RECORD.digest
    shorter = changed(lambda d: d["visit"].pop())
    assert through(RECORD, 1).digest == shorter.digest
    assert value(through(RECORD, 0), "bed-2", "flow", "found") == 72
    with pytest.raises(ValueError, match="3"):
        through(RECORD, 3)
