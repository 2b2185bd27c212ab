"""The audit sheet shows what the result holds: its reasons row by row, its near misses, its values, and nothing of its own."""

from typing import Any

import pytest

from airwarrant.papers.audit_tree import branches
from airwarrant.papers.write import make
from airwarrant.result.why import Row, why
from airwarrant.result.why_words import ReasonWords
from jobs import JOBS, scope
from reading_html import as_printed, read, text_of
from results import record_with_rooms, result_of


def sheet_of(result: dict[str, Any], language: str = "en") -> str:
    (page,) = (page for name, page in make(result, only=["audit"], language=language).items() if name.endswith(".html"))
    return page.decode()


@pytest.mark.parametrize("job", JOBS)
def test_the_reasons_are_those_of_the_terminal(job: str) -> None:
    result = result_of(job)
    page = text_of(sheet_of(result))
    for line in result["lines"]:
        for row in why(result, line["id"]):
            if row.mark in ("rule", "clause") and row.depth < 3:
                assert as_printed(row.text) in page, row
    for row in why(result, "total")[1:]:
        assert as_printed(row.text) in page, row


@pytest.mark.parametrize("job", JOBS)
def test_every_link_leads_to_a_place_of_the_sheet(job: str) -> None:
    elements = read(sheet_of(result_of(job))).elements
    ids = [attrs["id"] for _, attrs in elements if "id" in attrs]
    assert len(ids) == len(set(ids))
    links = {(attrs["href"] or "")[1:] for tag, attrs in elements if tag == "a"}
    assert links <= set(ids)
    assert len(links) > 50


@pytest.mark.parametrize("job", JOBS)
def test_every_value_read_stands_once_with_who_set_it_and_what_it_overrode(job: str) -> None:
    result = result_of(job)
    html = sheet_of(result)
    for name, entry in result["trace"]["policy"].items():
        assert html.count(f'id="p-{name}"') == 1
        assert f"{entry['file']}:{entry['line']}:{entry['column']}" in html
        for old in entry["overrode"]:
            assert f"{old['file']}:{old['line']}:{old['column']}" in html


@pytest.mark.parametrize("job", JOBS)
def test_every_verdict_inside_its_band_and_every_reading_is_listed(job: str) -> None:
    result = result_of(job)
    page = text_of(sheet_of(result))
    for verdict in result["verdicts"]:
        if verdict["word"] == "close":
            assert result["trace"]["checks"][verdict["check"]]["title"] in page
    for place in result["program"]["record"]["places"]:
        if place.startswith("visit[") and place.count(".") == 1:
            where = f"{result['program']['record']['file']}:{result['program']['record']['places'][place]}"
            field = place.rpartition(".")[2]
            if any(one["field"] == field for visit in result["record"]["visits"] for one in visit["readings"]):
                assert where in page, place


def test_a_number_of_the_result_shows_wherever_it_counts() -> None:
    result = result_of("1042")
    verdict = next(one for one in result["verdicts"] if one["id"] == "external-static@house/found")
    verdict["reading"]["value"] = 0.8765
    close = next(one for one in result["verdicts"] if one["word"] == "close" and one["subject"] == "house")
    close["probability"] = 0.4321
    result["trace"]["policy"]["min_airflow"]["value"] = 351.5
    result["digests"]["policy"] = "f" * 64
    result["totals"]["amount"] = "98765.00"
    read_on = result["record"]["visits"][0]["readings"][0]
    read_on["value"] = 4321.0
    line = next(one for one in result["lines"] if one["price"]["amount"])
    line["price"]["amount"] = "7654.00"
    page = text_of(sheet_of(result))
    assert "external_static 0.8765" in page
    assert "0.43" in page
    assert "351.5 cfm/ton" in page
    assert "f" * 64 in page
    assert page.count("98,765") == 2  # at a glance and over the price, step by step
    assert "4,321" in page
    assert page.count("7,654") >= 3  # at a glance, with the line's reasons, in the sum


def test_a_stop_comes_first_with_its_reasons() -> None:
    result = result_of("1042")
    firing = result["trace"]["firings"][0]["id"]
    result["stops"] = [
        {"name": "danger", "said": "Leave the house & call.", "subjects": ["house"], "firings": [firing]}
    ]
    result["sellable"] = {"answer": "no", "why": ["Leave the house & call."]}
    page = text_of(sheet_of(result))
    assert page.index("Stop: Leave the house & call.") < page.index("Contents")
    assert "No offer may be made." in page


def test_what_people_decided_is_told_with_who_and_why() -> None:
    result = result_of("1042")
    line = result["lines"][1]["id"]
    override = {"line": line, "decision": "left-out", "reason": "<b>no way in</b>", "by": "the owner", "taken": False}
    result["overrides"] = [override]
    result["choices"] = [{"line": line, "decision": "declined"}]
    html = sheet_of(result)
    assert "<b>no way in" not in html
    page = text_of(html)
    assert "By the owner: <b>no way in</b> not taken: the rules do not allow it" in page
    assert f"Homeowner's choice: {line} , declined" in page


def test_a_prerequisite_out_of_order_is_told() -> None:
    result = result_of("1042")
    after = next(one for one in result["lines"] if one["after"])
    after["order"] = 0
    head = f'<th scope="row"><code>{after["id"]}</code>'
    rows = [line for line in sheet_of(result).splitlines() if head in line and "Honoured" in line]
    assert len(rows) == 1
    assert ">no<" in rows[0]


def test_a_later_reading_stands_beside_its_prediction() -> None:
    result = result_of("1042")
    found = next(one for one in result["record"]["visits"][0]["readings"] if one["field"] == "external_static")
    test_out = {**result["record"]["visits"][0], "index": 1, "kind": "test-out", "unit": "new"}
    test_out["readings"] = [{**found, "value": 0.6543}]
    result["record"]["visits"].append(test_out)
    page = text_of(sheet_of(result))
    part = page[page.rindex("Read at test-out") :]
    assert "0.860 in. w.c." in part
    assert "0.654 in. w.c." in part


def test_a_hundred_rooms_stay_findable_and_what_is_left_out_is_counted() -> None:
    result = scope(record_with_rooms(100))
    html = sheet_of(result)
    assert len(html.encode()) < 600_000
    page = text_of(html)
    for entry in result["declined"]:
        if entry["how"] != "not-called-for":
            assert entry["line"] in page
    assert f"all {len(result['declined'])} lines that are not in the scope" in page


def test_the_sheet_of_a_job_stays_within_its_size() -> None:
    for language in ("en", "es"):
        assert len(sheet_of(result_of("1042"), language).encode()) < 600_000


def test_the_reason_tree_has_the_same_words_in_both_languages() -> None:
    assert ReasonWords("en").names() == ReasonWords("es").names()


@pytest.mark.parametrize("depths", [[1], [1, 2, 3, 1], [1, 3, 2, 1], [2, 1, 2], [1, 4, 4, 3, 2, 1]])
def test_rows_nest_and_every_list_that_opens_closes(depths: list[int]) -> None:
    made = branches([Row(depth, str(depth)) for depth in depths])
    assert len(made) == len(depths)
    assert sum(one.inward for one in made) == sum(one.outward for one in made)
