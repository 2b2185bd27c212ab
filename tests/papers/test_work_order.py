"""The crew's work order: dangers first, the order kept, nothing that waits shown as work, no price, the result's own numbers."""

from typing import Any

import pytest

from airwarrant.job.dictionary import KINDS
from airwarrant.job.words_house import HAZARDS
from airwarrant.papers.numbers import amount, clock, span
from airwarrant.papers.sheet import Sheet
from airwarrant.papers.words import LANGUAGES, words_of
from airwarrant.papers.work_order import ACCESS, JOB
from airwarrant.papers.write import make
from airwarrant.result.crew import AT_PLACES
from jobs import JOBS, data, scope
from reading_html import as_printed, read, text_of
from results import UNKIND, record_with_names, record_with_rooms, result_of


def page(result: dict[str, Any], language: str = "en") -> str:
    return next(iter(make(result, language=language, only=["work-order"]).values())).decode()


def text(result: dict[str, Any], language: str = "en") -> str:
    return text_of(page(result, language))


def plain(said: str) -> str:
    return as_printed(said)


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_line_to_be_built_stands_in_its_order_with_all_it_is_told(job: str, language: str) -> None:
    result = result_of(job)
    sheet = Sheet(result, words_of(language))
    shown = text(result, language)
    tasks = shown[shown.index(sheet.words("work_order.order")) :]
    last = -1
    for line in sheet.lines("scoped"):
        here = tasks.index(f"{line['order']} {sheet.say(line['title'])} {sheet.place(line['place'])}")
        assert here > last, line["id"]
        last = here
        for said in line["directions"].values():
            assert plain(sheet.say(said)) in shown, line["id"]
        for size in line["sizes"]:
            assert plain(f"{sheet.say(size['title'])}: {sheet.say(size['text'])}") in shown, line["id"]


@pytest.mark.parametrize("job", JOBS)
def test_dangers_come_before_everything_and_boxes_before_the_work(job: str) -> None:
    result = result_of(job)
    shown = text(result)
    dangers, ready, order = (shown.index(words_of("en")(f"work_order.{w}")) for w in ("dangers", "ready", "order"))
    assert dangers < ready < order
    for one in result["cautions"]:
        if one["authority"] == "safety" and one["for"] != "homeowner":
            assert dangers < shown.index(plain(one["said"])) < ready, one["name"]
    for one in result["crew"]["ready"]:
        assert ready < shown.index(plain(one["said"])) < order
    for one in result["crew"]["leave"]:
        assert shown.index(plain(one["said"])) > order


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("language", LANGUAGES)
def test_the_crew_is_told_no_price(job: str, language: str) -> None:
    """Change every amount of money in the result: nothing on the order moves."""
    result, dear = result_of(job), result_of(job)
    for line in dear["lines"]:
        line["price"] |= {"amount": "98765.00", "unrounded": "98765.43", "cost": "87654.00", "labour": "76543.00"}
        for bought in line["price"].get("materials", ()):
            bought |= {"cost": "6543.00", "amount": "54321.00"}
    dear["totals"] |= {"amount": "123456.00", "margin": "99.99"}
    for one in dear["offers"]:
        one["amount"] = "123456.00"
    made = page(dear, language)
    assert all(number not in text_of(made) for number in ("98,765", "98765", "123,456", "54,321", "6,543"))
    assert _without_digest(made) == _without_digest(page(result, language))


def _without_digest(html: str) -> str:
    return html[: html.index("<footer")]


def test_numbers_are_the_results_own() -> None:
    """Swap numbers in the result: each is found wherever the order shows it."""
    result = result_of("1042")
    elbow = next(line for line in result["lines"] if line["task"] == "replace-elbow")
    elbow["sizes"][0]["text"] = elbow["size"] = "777 in2"
    window = result["clock"]["lines"]
    window[0]["to"], result["clock"]["minutes"] = 611, 1234
    result["record"]["items"]["house"]["facts"]["roof_height"]["value"] = 27.4
    result["record"]["items"]["roof-elbow"]["facts"]["return_opening"]["value"] = 313.0
    result["record"]["new"]["static_max"]["value"] = 0.913
    static = next(one for one in result["acceptance"] if one["check"] == "external-static")
    static["limit"] = 0.717
    bath = result["predictions"]["scope"]["readings"]["bath"]
    bath["damper_loss"] |= {"low": 0.311, "high": 0.377}
    bath["flow"] |= {"low": 81.0, "high": 97.0}
    flex = next(one for one in result["crew"]["materials"]["together"] if one["item"] == "flex-duct")
    flex |= {"quantity": "63.8", "size": "22"}
    shown = text(result)
    for wanted in (
        "Return leg, inside area: 777 in2",
        f"0:00–{clock(611)}",
        clock(1234),
        amount(27.4, "ft"),
        "Return opening · roof elbow 313 in2",
        amount(0.913, "in. w.c."),
        f"at most {amount(0.717, 'in. w.c.')}",
        span(0.311, 0.377, "in. w.c."),
        span(81, 97, "cfm"),
        "22 in 63.8 ft",
    ):
        assert plain(wanted) in shown, wanted
    assert shown.count("777 in²") == 2, "in the order and at the task"


def test_what_waits_is_never_work_to_do() -> None:
    record = data("1042")
    record["house"]["asbestos_suspect"] = "yes"
    result = scope(record)
    held = [line for line in result["lines"] if line["state"] == "held"]
    assert held
    if result["sellable"]["answer"] != "yes":
        result["sellable"] = {"answer": "yes", "why": []}
    shown = text(result)
    waits = shown.index(words_of("en")("work_order.waiting"))
    for line in held:
        assert f"{line['title']} —" in shown[waits:], line["id"]
        assert f"{line['order']} {line['title']}" not in shown, line["id"]
        for hold in line["held_by"]:
            assert plain(hold["said"]) in shown[waits:]


def test_a_stop_leaves_no_work_no_boxes_and_no_materials() -> None:
    record = data("1042")
    record["visit"][0]["gas_smell"] = "yes"
    result = scope(record)
    assert result["stops"]
    shown, words = text(result), words_of("en")
    assert shown.index(words("work_order.stop")) < shown.index(words("work_order.dangers"))
    assert plain(result["stops"][0]["said"]) in shown
    for name in ("work_order.order", "work_order.ready", "work_order.leave", "materials.title"):
        assert words(name) not in shown, name


def test_an_offer_that_waits_has_no_order_of_work_either() -> None:
    """An empty survey: nothing may be sold, so nothing may be started; what to read first is told."""
    record = data("1042")
    del record["visit"]
    result = scope(record)
    assert result["sellable"]["answer"] != "yes"
    shown, words = text(result), words_of("en")
    assert words("work_order.not_yet") in shown
    assert words("work_order.order") not in shown


def test_a_hazard_of_the_record_and_one_nobody_answered_stand_at_the_top() -> None:
    record = data("1042")
    record["house"] |= {"roof_edge": "yes"}
    del record["house"]["pests"]
    shown = text(scope(record))
    words = words_of("en")
    assert f"{words('work_order.fact.roof_edge')} yes" in shown
    assert f"{words('work_order.fact.pests')} {words('work_order.not_answered')}" in shown
    assert shown.index(words("work_order.fact.roof_edge")) < shown.index(words("work_order.fact.pests"))


def test_a_box_stands_only_where_record_or_policy_calls_for_it() -> None:
    with_crane = data("1042")
    with_crane["house"] |= {"crane_needed": "yes", "pets": "yes"}
    asked = {one["of"] for one in scope(with_crane)["crew"]["ready"]}
    without = {one["of"] for one in result_of("1042")["crew"]["ready"]}
    assert asked - without == {"crane-needed", "pets"}
    ground = {one["of"] for one in result_of("2718")["crew"]["ready"]}
    assert not {"falls", "roof", "attic-heat"} & ground
    assert {"falls", "roof", "attic-heat", "electricity"} <= without


def test_a_return_is_landed_by_direction() -> None:
    shown, words = text(result_of("1042")), words_of("en")
    assert f"{words('work_order.lands')} {words('work_order.word.unit-plenum')}." in shown
    assert words("work_order.lands_side") in shown
    assert words("work_order.lands_compass") in shown


def test_lines_of_an_earlier_visit_are_looked_up_and_not_done_again() -> None:
    result = result_of("4471")
    earlier = [line for line in result["lines"] if line["state"] == "earlier"]
    assert earlier
    shown, words = text(result), words_of("en")
    order = shown[shown.index(words("work_order.order")) : shown.index(words("work_order.earlier"))]
    for line in earlier:
        assert f"{line['order']} {line['title']}" not in order
        assert f"{line['order']} {line['title']}" in shown[shown.index(words("work_order.earlier")) :]


def test_targets_that_bar_the_hand_over_come_last_and_flames_last_of_all() -> None:
    shown, words = text(result_of("2718")), words_of("en")
    targets = shown[shown.index(words("work_order.targets")) :]
    gate = targets.index(words("work_order.must_pass"))
    assert targets.index("Duct leakage") < gate < targets.index("nameplate") < targets.index("Spillage")


@pytest.mark.parametrize("count", [0, 1, 100])
def test_any_number_of_rooms_on_the_order(count: int) -> None:
    html = page(scope(record_with_rooms(count)))
    reader = read(html)
    assert (reader.broken, reader.opened) == ([], [])
    ids = [attrs["id"] for _, attrs in reader.elements if "id" in attrs]
    assert len(ids) == len(set(ids))


def test_unkind_names_stand_on_the_order_as_text() -> None:
    html = page(scope(record_with_names(UNKIND)))
    assert "<script" not in html
    assert "<img" not in html
    assert "\u202e" not in html


def test_without_a_price_book_there_is_an_order_without_a_clock() -> None:
    """A result that carries no prices: lines, places and directions stand; times and materials are said to be missing."""
    result = result_of("1042")
    for line in result["lines"]:
        line["price"] = {}
    for one in result["clock"]["lines"]:
        one |= {"from": 0, "to": None}
    result["clock"] |= {"minutes": 0, "whole": False}
    result["crew"]["materials"] = {"together": [], "lines": []}
    shown, words = text(result), words_of("en")
    assert words("materials.none") in shown
    assert words("work_order.window_short") in shown


def test_every_hazard_and_word_of_a_hazard_is_called_something_in_both_languages() -> None:
    for language in LANGUAGES:
        words = words_of(language)
        house = [KINDS["house"].fields[name] for name in (*JOB, *ACCESS)] + [one for one in HAZARDS if one.words]
        called = {(one.name, word) for one in house for word in one.words or ("",)}
        called |= {(name, word) for names in AT_PLACES.values() for name, dangers in names.items() for word in dangers}
        called |= {("", word) for kind in ("route", "return") for word in KINDS[kind].fields["lands"].words}
        for field, word in called:
            assert not field or words.has(f"work_order.fact.{field}"), (language, field)
            assert not word or words.has(f"work_order.word.{word}"), (language, field, word)


def test_the_order_of_work_tells_every_size_of_a_line() -> None:
    result = result_of("1042")
    line = next(one for one in result["lines"] if len(one["sizes"]) > 1 and one["state"] == "scoped")
    line["sizes"][1]["text"] = "9,876 in2"
    html = page(result)
    row = next(row for row in html.split("<tr>") if f">{line['order']}</td>" in row and line["title"] in row)
    assert "9,876 in²" in text_of(row)
    assert as_printed(line["sizes"][0]["text"]) in text_of(row)
