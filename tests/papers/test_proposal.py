"""The homeowner's proposal: what it must say, and what it must never say."""

import re
from typing import Any

import pytest
import textstat

from airwarrant.papers.numbers import money, span
from airwarrant.papers.write import make
from jobs import JOBS, data, scope
from reading_html import as_printed, prose_of, text_of
from results import result_of


def page(result: dict[str, Any], language: str = "en") -> str:
    return next(iter(make(result, language=language, only=["proposal"]).values())).decode()


def text(result: dict[str, Any], language: str = "en") -> str:
    return text_of(page(result, language))


@pytest.mark.parametrize("job", JOBS)
def test_every_line_finding_and_reason_is_there(job: str) -> None:
    result = result_of(job)
    shown = text(result)
    for line in result["lines"]:
        assert as_printed(line["said"]) in shown, line["id"]
    for one in result["declined"]:
        if one["how"] == "declined":
            assert as_printed(one["said"]) in shown
    for one in [*result["findings"], *result["cautions"]]:
        if one["for"] != "crew":
            assert as_printed(one["said"]) in shown


def test_nothing_calls_for_it_is_not_said_beside_a_reading_that_fails() -> None:
    shown = text(result_of("1042"))
    also = shown[shown.index("nothing we read calls for it:") :]
    also = also[: also.index(".")]
    assert "Trim the door" in also
    assert "Duct leakage test" not in also


def test_a_limit_that_is_another_after_the_work_stands_beside_todays_and_a_room_expected_short_is_named() -> None:
    result = result_of("1042")
    entry = next(
        one for one in result["acceptance"] if (one["check"], one["place"]) == ("complaint-room-flow", "bed-2")
    )
    expected = result["predictions"]["scope"]["readings"]["bed-2"]["flow"]
    entry["limit"] = expected["value"] + 321
    shown = text(result)
    assert f"after the work: at least {entry['limit']:.0f} cfm" in shown
    sentence = (
        f"at least {entry['limit']:.0f} cfm. We expect {span(expected['low'], expected['high'], 'cfm')}, likely less"
    )
    assert sentence in shown
    for one in result["acceptance"]:
        if one["place"] == "bed-2":
            one["limit"] = expected["value"] - 1
    assert "likely less than that share" not in text(result)


def test_an_offer_that_waits_names_no_day_of_offer() -> None:
    result = result_of("1042")
    day, until = result["dates"]["proposal"], result["totals"]["valid_until"]
    assert f"offered {day}" in text(result)
    assert f"Valid until {until}" in text(result)
    fallen = result_of("1042")
    fallen["dates"]["fell_back_to_survey"] = ["proposal"]
    assert f"Valid until {until}" not in text(fallen)
    result["sellable"] = {"answer": "held", "why": ["x"]}
    assert day not in text(result)
    assert until not in text(result)


def test_a_total_is_no_foot_that_print_repeats() -> None:
    """A table foot is repeated on each sheet unless it is a group of rows (CSS Tables Module Level 3, 3.6, from memory)."""
    html = page(result_of("1042"))
    assert "<tfoot>" in html
    assert "tfoot { display: table-row-group;" in html


def test_a_range_with_a_negative_end_is_in_words() -> None:
    result = result_of("1042")
    line = next(one for one in result["lines"] if one["effect"] and one["state"] == "scoped")
    line["effect"]["alone"]["register_flow"] |= {"value": -8.0, "low": -17.0, "high": 4.0}
    assert "\N{MINUS SIGN}17 to 4 cfm" in text(result)
    assert "\N{MINUS SIGN}17 a 4 cfm" in text(result, "es")


def test_numbers_are_the_results_own() -> None:
    """Swap numbers in the result: each is found where the paper shows it."""
    result = result_of("1042")
    elbow = next(line for line in result["lines"] if line["task"] == "replace-elbow")
    elbow["price"]["amount"] = "9876.00"
    result["totals"]["amount"] = result["offers"][0]["amount"] = "54321.00"
    result["totals"]["charges"][0]["amount"] = "4242.00"
    reading = next(v for v in result["verdicts"] if v["id"] == "external-static@house/found")
    reading["reading"]["value"], reading["limit"]["value"] = 0.913, 0.717
    result["offers"][0]["readings"]["register_flow"] |= {"low": 1501.0, "high": 1599.0}
    result["predictions"]["scope"]["readings"]["bed-2"]["flow"] |= {"value": 171.0, "low": 166.0, "high": 177.0}
    result["predictions"]["targets"]["bed-2"]["flow"] = 163.0
    result["air_path"]["found"]["pieces"][0]["drop"] = 0.777
    result["record"]["told"] = "told 31415"
    shown, html = text(result), page(result)
    for number in ("9,876", "54,321", "4,242", "0.913", "0.717", "31415", span(1501, 1599, "cfm")):
        assert number in shown, number
    for number in ("163", span(166, 177, "cfm", bare=True), "0.777"):
        assert number in html, f"{number} in a picture"


def test_a_source_of_several_limits_is_listed_once() -> None:
    result = result_of("1042")
    for held in result["trace"]["policy"].values():
        if held["basis"].get("cite"):
            held["basis"] |= {"cite": "One Handbook", "edition": ""}
    assert text(result).count("One Handbook") == 1


def test_who_read_what_is_named_where_the_record_says_it() -> None:
    record = data("1042")
    record["visit"][0]["external_static"]["by"] = "technician 7"
    assert "By technician 7." in text(scope(record))
    assert "By " not in text(result_of("1042")).partition("Your house today")[0]


def test_no_predicted_flow_of_the_picture_is_finer_than_it_is_known() -> None:
    """What the path picture says of after the work comes as a range or as about so much."""
    html = page(result_of("1042"))
    path = result_of("1042")["air_path"]["scope"]
    assert path["added_returns"]["living-route"] % 10, "a flow that rounding changes"
    assert f"{path['added_returns']['living-route']:.0f} cfm" not in html
    assert "about 650 cfm" in html


@pytest.mark.parametrize("job", JOBS)
def test_the_whole_paper_reads_easily(job: str) -> None:
    """Flesch-Kincaid grade of all prose of the page, headings and tables aside, by textstat; eighth grade is the aim."""
    assert textstat.flesch_kincaid_grade(prose_of(page(result_of(job)))) <= 8.0


def test_no_price_stands_beside_a_held_line() -> None:
    """A line that waits for an asbestos answer or a combustion test is shown with what it waits for and without a price."""
    record = data("1042")
    record["house"]["asbestos_suspect"] = "yes"
    result = scope(record)
    held = [line for line in result["lines"] if line["state"] == "held"]
    assert held
    html = page(result)
    for line in held:
        row = next(row for row in re.findall(r"<tr>.*?</tr>", html, re.S) if line["said"] in text_of(row))
        cells = re.findall(r'<td class="num"[^>]*>(.*?)</td>', row, re.S)
        assert [cell.strip() for cell in cells] == [""], line["id"]
        assert all(hold["said"] in text_of(row) for hold in line["held_by"])


def test_after_a_stop_nothing_is_sold() -> None:
    record = data("1042")
    record["visit"][0]["gas_smell"] = "yes"
    result = scope(record)
    assert result["stops"]
    shown = text(result)
    assert result["stops"][0]["said"] in shown
    assert f"{result['stops'][0]['said']} (" not in shown, "a stop of the whole house names no place"
    result["stops"][0]["subjects"] = ["bed-2", "living"]
    assert f"{result['stops'][0]['said']} (bed 2, living)" in text(result)
    for word in (
        "Price, line by line",
        "What we offer to do",
        "Your choice",
        "Signature",
        "Your options",
        "Valid until",
    ):
        assert word not in shown, word


def test_a_held_offer_has_no_total_and_nothing_to_sign() -> None:
    record = data("1042")
    del record["visit"][0]["return_static"], record["visit"][0]["supply_static"], record["visit"][0]["external_static"]
    result = scope(record)
    assert result["sellable"]["answer"] != "yes"
    shown = text(result)
    assert "This is not an offer yet" in shown or result["stops"]
    assert "Your choice" not in shown
    assert "Signature" not in shown


@pytest.mark.parametrize("job", JOBS)
def test_required_is_law_listing_and_safety_only(job: str) -> None:
    result = result_of(job)
    rules = result["trace"]["rules"]
    for line in result["lines"]:
        if line["tier"] == "required":
            assert rules[line["rule"]]["authority"] in ("safety", "code", "listing"), line["id"]


@pytest.mark.parametrize("job", JOBS)
def test_options_keep_prerequisites_and_come_as_ranges_with_a_price(job: str) -> None:
    result = result_of(job)
    shown = text(result)
    present = {line["id"]: line for line in result["lines"]}
    assert 1 <= len(result["offers"]) <= 3
    for offer in result["offers"]:
        tasks = {id.partition("@")[0] for id in offer["lines"]}
        for id in offer["lines"]:
            if id in present:
                assert {t for t in present[id]["after"] if t not in tasks} <= {
                    line["task"] for line in result["lines"] if line["id"] not in offer["lines"]
                }
        assert offer["setting"] in shown
        assert money(offer["amount"]) in shown
        flow = offer["readings"]["register_flow"]
        low, high = (
            flow.get("low", flow["value"] - flow["plus_minus"]),
            flow.get("high", flow["value"] + flow["plus_minus"]),
        )
        assert span(low, high, "cfm") in shown
        assert f" {flow['value']:.0f} cfm" not in shown.replace(span(low, high, "cfm"), ""), "a single predicted number"


def test_the_notice_of_cancelling_stands_where_policy_requires_it() -> None:
    assert "The notice of your right to cancel comes with this paper" in text(result_of("1042"))
    record = data("1042")
    record["house"]["sold_at_home"] = "no"
    assert "Notices that come with this paper" not in text(scope(record))


@pytest.mark.parametrize("job", JOBS)
def test_safety_comes_first_among_the_cautions(job: str) -> None:
    result = result_of(job)
    shown = text(result)
    cautions = [c for c in result["cautions"] if c["for"] != "crew" and c["name"] != "right-to-cancel"]
    rank = {"safety": 0, "code": 1}
    at = sorted((shown.rindex(as_printed(c["said"])), rank.get(c["authority"], 2)) for c in cautions)
    assert [r for _, r in at] == sorted(r for _, r in at)


@pytest.mark.parametrize("job", JOBS)
def test_the_spanish_paper_is_spanish(job: str) -> None:
    """Every text that policy says in the English paper is said in Spanish in the other."""
    result = result_of(job)
    spanish, known = text(result, "es"), result["languages"]["es"]
    for line in result["lines"]:
        assert line["said"] in known, line["id"]
        assert as_printed(known[line["said"]]) in spanish
        assert line["title"] in known, line["id"]
    for one in [*result["findings"], *result["cautions"], *result["holds"]]:
        assert one["said"] in known, one
