"""The test-out sheet and the paper of its answer: every number is the result's, combustion stands last, nothing is passed in silence."""

import tomllib
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from airwarrant.desks.accept import accept
from airwarrant.desks.made_from import made_from
from airwarrant.job.reading_records import read_job
from airwarrant.papers.accepted import accepted_files
from airwarrant.papers.write import make
from airwarrant.policy.files import policy_texts
from airwarrant.session import Session
from jobs import POLICIES, SCENARIOS, scope
from reading_html import numbers_of, read, refers_outside, text_of
from results import UNKIND, record_with_names, result_of


def _page(result: dict[str, Any], language: str = "en") -> str:
    return make(result, language=language, only=["test-out"])[f"test-out-{result['job_id']}.html"].decode()


@lru_cache(maxsize=2)
def _acceptance(name: str) -> dict[str, Any]:
    path = SCENARIOS / "job-1042.toml"
    record = read_job(path)
    with Session(POLICIES) as session:
        result = session.evaluate(record)
    result["inputs"] = {
        "record": {"file": path.name, "text": path.read_text()},
        "market": record.market,
        "policy": policy_texts((POLICIES,), record.market, record.dates),
    }
    text = (SCENARIOS / f"{name}.toml").read_bytes()
    return accept(result, made_from(result, Path("result.json")), text, f"{name}.toml")


def _paper(name: str, language: str = "en") -> str:
    return accepted_files(deepcopy(_acceptance(name)), language=language)["accepted-1042.html"].decode()


# ---------------------------------------------------------------- the sheet


def test_before_predicted_and_limit_are_those_of_the_result() -> None:
    result = result_of("1042")
    for reading in result["record"]["visits"][0]["readings"]:
        if reading["field"] == "power":
            reading["value"] = 637.0
    result["predictions"]["scope"]["readings"]["house"]["power"] |= {"low": 471.0, "high": 699.0}
    entry = next(one for one in result["acceptance"] if one["check"] == "fan-power")
    entry["limit"] = 0.57
    page = text_of(_page(result))
    assert "637 W" in page
    assert "470\N{EN DASH}700 W" in page  # a range is rounded outward to the second digit of its width
    assert "at most 0.570 W/cfm" in page


def test_units_come_as_print_has_them_also_where_nothing_is_written_yet() -> None:
    page = text_of(_page(result_of("1042")))
    assert "78.0 °F" in page
    assert "in²" in page
    for raw in ("78.0 F", "F diff", "in2"):
        assert raw not in page, raw


def test_every_target_is_on_the_sheet_with_its_limit() -> None:
    for job in ("1042", "4471", "2718"):
        result = result_of(job)
        asked = sum(entry["limit"] is not None for entry in result["acceptance"])
        boxes = read(_page(result)).elements
        assert sum(attrs.get("class") == "bound" for _, attrs in boxes) >= asked > 0


def test_combustion_stands_after_every_other_reading_and_names_its_zone() -> None:
    page = text_of(_page(result_of("4471")))
    last = page.index("Last: combustion")
    for earlier in ("Pressures", "Air and power", "Duct leakage", "Air into each room", "Refrigerant charge", "Noise"):
        assert page.index(earlier) < last
    for asked in ("Zone: basement", "Worst-case pressure of the zone", "Spillage at the draft hood", "Carbon monoxide"):
        assert page.index(asked) > last - 1
    assert "local code" in page[last:]


def test_a_house_without_a_flame_is_told_to_stop_if_one_is_seen() -> None:
    result = result_of("5560")
    assert not any(entry["check"] in ("draft", "spillage") for entry in result["acceptance"])
    assert "If you see one, stop and say so." in text_of(_page(result))


def test_a_stop_stands_at_the_head() -> None:
    result = result_of("1042")
    result["stops"] = [{"name": "x", "said": "Everybody leaves.", "subjects": ["house"], "firings": []}]
    page = text_of(_page(result))
    assert page.index("Everybody leaves.") < page.index("Before the first reading")


def test_without_a_prediction_the_sheet_asks_all_the_same() -> None:
    result = result_of("1042")
    result["predictions"] |= {"scope": None, "options": [], "compared": []}
    page = text_of(_page(result))
    assert "none was chosen: write the one set" in page
    assert "Total external static pressure" in page


# ---------------------------------------------------------------- the answer's paper


@pytest.mark.parametrize("name", ["test-out-1042", "test-out-1042-tight"])
def test_both_languages_of_the_answer_carry_the_same_numbers_and_stand_by_themselves(name: str) -> None:
    english, spanish = _paper(name), _paper(name, "es")
    assert numbers_of(english) == numbers_of(spanish)
    assert english == _paper(name)
    for page in (english, spanish):
        reader = read(page)
        assert (reader.broken, reader.opened) == ([], [])
        assert refers_outside(page) == []


def test_a_number_of_the_answer_is_the_documents() -> None:
    found = deepcopy(_acceptance("test-out-1042-tight"))
    for one in found["targets"]:
        if one["check"] == "external-static":
            one["after"]["value"], one["limit"]["value"] = 0.761, 0.712
    for one in found["readings"]:
        if one["field"] == "airflow":
            one["error"]["value"], one["before"]["value"], one["after"]["value"] = -97.0, 1017.0, 1147.0
    page = text_of(accepted_files(found)["accepted-1042.html"].decode())
    for shown in ("0.761 in. w.c.", "at most 0.712 in. w.c.", "\N{MINUS SIGN}97 cfm", "1,017 cfm", "1,147 cfm"):
        assert shown in page


def test_the_answer_stands_first_with_its_reasons() -> None:
    page = text_of(_paper("test-out-1042-tight"))
    assert (
        page.index("Not accepted") < page.index("Total external static pressure: 0.750 in. w.c.") < page.index("Before")
    )
    assert "Look along the return" in page
    assert "Accepted" in text_of(_paper("test-out-1042"))


def test_what_a_record_says_is_text_on_the_sheet_and_on_the_answer() -> None:
    page = _page(scope(record_with_names(UNKIND)))
    assert "<script" not in page
    found = deepcopy(_acceptance("test-out-1042"))
    for index, one in enumerate([*found["targets"], *found["readings"], *found["lines"]]):
        one["name"], one["place"] = UNKIND[index % len(UNKIND)], "hall"
    answer = accepted_files(found)["accepted-1042.html"].decode()
    assert "<script" not in answer
    assert "\u202e" not in answer
    assert refers_outside(answer) == []


def test_the_shipped_test_outs_are_marked_as_invented() -> None:
    for name in ("test-out-1042", "test-out-1042-tight"):
        assert tomllib.loads((SCENARIOS / f"{name}.toml").read_text())["demo"] is True
        assert "Demonstration" in text_of(_paper(name))
