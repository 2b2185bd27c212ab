"""Words and days that nobody writes: they follow from the record, and from nothing else."""

import json
from typing import Any

import pytest
from whole_record import as_json, whole

from airwarrant.errors import RecordError
from airwarrant.job.lookup import reading, subjects
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord


def changed(change: Any) -> JobRecord:
    data = json.loads(as_json(whole()))
    change(data)
    return parse_job(as_json(data), "job.json")


def house(record: JobRecord) -> Any:
    return subjects(record, True)["house"][0]


@pytest.mark.parametrize(("old", "new", "word"), [(3.5, 3.5, "same"), (3.5, 4, "larger"), (4, 3.5, "smaller")])
def test_tons_are_compared_old_against_new(old: float, new: float, word: str) -> None:
    record = changed(lambda d: (d["old"].update(tons=old), d["new"].update(tons=new)))
    assert house(record).word("tons_change") == word
    assert house(changed(lambda d: d["old"].pop("tons"))).word("tons_change") == "unknown"


def test_a_thing_is_photographed_where_it_names_a_photograph() -> None:
    record = changed(lambda d: d["elbow"][0].update(photo="IMG-0042"))
    assert subjects(record, True)["elbow"][0].word("photographed") == "yes"
    assert subjects(record, True)["room"][0].word("photographed") == "no"
    assert record.items["roof-elbow"].photo == "IMG-0042"


def test_which_photograph_does_not_matter_to_the_digest_and_that_there_is_one_does() -> None:
    one, other = (changed(lambda d, name=name: d["elbow"][0].update(photo=name)) for name in ("a", "b"))
    assert one.digest == other.digest != changed(lambda d: None).digest


def test_the_new_unit_is_recorded_with_model_and_serial() -> None:
    assert house(changed(lambda d: None)).word("unit_recorded") == "no"
    assert house(changed(lambda d: d["new"].update(model="RX-42"))).word("unit_recorded") == "no"
    record = changed(lambda d: d["new"].update(model="RX-42", serial="0815"))
    assert house(record).word("unit_recorded") == "yes"
    assert record.digest != changed(lambda d: None).digest


def test_words_of_a_visit_are_those_of_the_newest_visit_on_the_old_unit_that_says_them() -> None:
    def write(d: Any) -> None:
        d["visit"][0].update(gas_smell="yes", registers="open")
        d["visit"][1].update(gas_smell="no")
        d["visit"][2].update(gas_smell="yes", registers="some-shut")  # test-out

    found = house(changed(write))
    assert (found.word("gas_smell"), found.word("registers_state")) == ("no", "open")


def test_test_out_tells_whether_it_can_be_compared() -> None:
    bare = house(changed(lambda d: None))
    assert [bare.word(n) for n in ("out_filter", "out_same_ports", "out_setting_known")] == ["unknown", "unknown", "no"]
    told = house(changed(lambda d: d["visit"][2].update(filter="clean", same_ports="yes", fan_setting="high")))
    assert [told.word(n) for n in ("out_filter", "out_same_ports", "out_setting_known")] == ["clean", "yes", "yes"]
    never = house(changed(lambda d: d["visit"].pop()))
    assert never.word("out_setting_known") == "unknown"


def test_age_of_instruments_is_that_of_the_oldest_check_among_those_used() -> None:
    def second(d: Any) -> None:
        d["instrument"].append({"id": "hood-1", "checked": "2025-07-17"})

    def age(record: JobRecord) -> float | None:
        one = reading(record, "house", "instrument_age", "found")
        return one.value if one else None

    assert age(changed(lambda d: None)) == 138  # 1 March to 17 July
    assert age(changed(second)) == 138, "no reading names the hood"
    assert age(changed(lambda d: (second(d), d["visit"][0]["return_static"].update(instrument="hood-1")))) == 365, (
        "the manometer is not used any more"
    )
    assert age(changed(lambda d: d["instrument"][0].pop("checked"))) is None
    assert house(changed(lambda d: d["instrument"][0].pop("checked"))).word("instruments_named") == "no"


def test_a_static_in_pascals_is_refused_with_its_likely_reason() -> None:
    with pytest.raises(RecordError, match="looks like pascals"):
        changed(lambda d: d["visit"][0].update(external_static=214))


def test_words_a_reading_may_hold_otherwise_than_its_visit_are_its_conditions_only() -> None:
    changed(lambda d: d["visit"][0].update(external_static={"value": 0.8, "filter": "clean", "doors": "open"}))
    with pytest.raises(RecordError, match="gas_smell"):
        changed(lambda d: d["visit"][0].update(external_static={"value": 0.8, "gas_smell": "no"}))
