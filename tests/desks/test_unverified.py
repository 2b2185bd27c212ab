"""What nobody has verified is listed; a job that relies on unconfirmed law says whom to ask."""

from pathlib import Path

import pytest

from airwarrant.desks.unverified import unverified
from airwarrant.policy.compose import compose
from jobs import POLICIES, data, item, scope

VALUE = '[parameter.{0}]\nvalue = 1\nunit = "Pa"\ntitle = "{0}"\nedit = "company"\nbasis = {1}\n'
BASES = {
    "sure": '{ kind = "published", cite = "A", edition = "1" }',
    "memory": '{ kind = "published", cite = "A", edition = "1", unconfirmed = true }',
    "judged": '{ kind = "engineering-judgement", unconfirmed = true }',
    "practice": '{ kind = "common-practice" }',
    "law": '{ kind = "published", cite = "A", edition = "1", adopted = 2020-01-01, unconfirmed = true }',
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    head = '[policy]\ntitle = "T"\nreview_by = 2030-01-01\n'
    files = {
        "trade/2026-01-01/a.toml": head + "".join(VALUE.format(name, basis) for name, basis in BASES.items()),
        "markets/m.toml": '[market]\ntitle = "M"\nlayers = ["trade"]\njurisdiction = ""\ncurrency = "demo"\n',
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(parents=True)
        (tmp_path / name).write_text(text)
    return tmp_path


def test_unconfirmed_values_are_listed_where_their_basis_stands(folder: Path) -> None:
    found = unverified(compose(folder, "m", {}))
    assert [(one.name, one.lacks, one.code, one.place.line) for one in found] == [
        ("memory", ("unconfirmed",), False, 15),
        ("judged", ("unconfirmed",), False, 21),
        ("law", ("unconfirmed",), True, 33),
    ]


def test_checks_and_rules_are_listed_beside_values() -> None:
    found = unverified(compose(POLICIES, "copper-basin", {}))
    assert {"parameter", "table", "rule"} <= {one.section for one in found}
    assert {one.name for one in found if one.code} >= {"flame_distance", "guard.return-source"}


def test_a_job_whose_line_rests_on_unconfirmed_law_says_whom_to_ask() -> None:
    record = data("1042")
    item(record, "return", "hall-return")["draws_from"] = "closet"
    (caution,) = [one for one in scope(record)["cautions"] if one["name"] == "confirm-with-authority"]
    assert caution["said"].startswith("Confirm with the local authority")
    assert "A return may not draw from a furnace room, closet, crawl space or attic" in caution["said"]
    assert caution["firings"] == ["guard.return-source@hall-return"]


def test_in_spanish_the_law_is_named_by_code_and_section_and_not_by_a_title_in_english() -> None:
    record = data("1042")
    item(record, "return", "hall-return")["draws_from"] = "closet"
    result = scope(record)
    (caution,) = [one for one in result["cautions"] if one["name"] == "confirm-with-authority"]
    said = result["languages"]["es"][caution["said"]]
    assert said.startswith("Confirme con la autoridad local")
    assert "International Mechanical Code, section 601.5" in said
    assert "may not draw" not in said


def test_a_value_of_law_behind_the_line_is_named_with_the_rule() -> None:
    record = data("1042")
    item(record, "return", "hall-return").update(same_space_as_flame="yes", flame_distance=4.0)
    (caution,) = [one for one in scope(record)["cautions"] if one["name"] == "confirm-with-authority"]
    assert "Least distance of a return opening from an open flame" in caution["said"]


def test_a_job_that_rests_on_no_such_law_says_nothing_of_it() -> None:
    assert "confirm-with-authority" not in {one["name"] for one in scope(data("5560"))["cautions"]}
