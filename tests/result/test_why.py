"""The reason tree leads to readings and policy positions that are really there."""

import json
import re
import tomllib
from typing import Any

import pytest

from airwarrant.errors import ResultError
from airwarrant.job.reading_records import read_job
from airwarrant.result.serial import to_bytes
from airwarrant.result.why import Row, why
from airwarrant.session import Session
from jobs import JOBS, POLICIES, SCENARIOS

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@pytest.fixture(scope="module", params=JOBS)
def result(request: pytest.FixtureRequest) -> dict[str, Any]:
    with Session(POLICIES) as session:
        return session.evaluate(read_job(SCENARIOS / f"job-{request.param}.toml"))


def text_at(place: str) -> str:
    """What stands at ``file:line:column``, to the end of its line."""
    file, line, column = place.rsplit(":", 2)
    path = SCENARIOS / file if file.startswith("job-") else POLICIES / file
    return path.read_text().splitlines()[int(line) - 1][int(column) - 1 :]


def names(result: dict[str, Any]) -> list[str]:
    return [line["id"] for line in result["lines"]] + [entry["line"] for entry in result["declined"]]


def test_every_line_and_every_line_left_out_has_a_tree(result: dict[str, Any]) -> None:
    for name in names(result):
        rows = why(result, name)
        assert rows[0].text.startswith(name)
        assert len(rows) > 2, name


def test_every_line_leads_to_its_rule_and_every_measured_need_to_a_reading_and_a_limit(result: dict[str, Any]) -> None:
    for line in result["lines"]:
        if line["state"] == "earlier":
            continue
        rows = why(result, line["id"])
        assert any(row.mark == "rule" and row.place for row in rows), line["id"]
        if line["tier"] == "recommended":
            assert any(row.mark == "reading" and row.place.startswith("job-") for row in rows), line["id"]
            assert any(row.mark == "limit" and "toml" in row.place for row in rows), line["id"]


def test_every_place_shown_holds_the_value_shown(result: dict[str, Any]) -> None:
    seen = 0
    for name in names(result):
        for row in why(result, name):
            if row.place:
                seen += 1
                check_place(row)
    assert seen > 50


def check_place(row: Row) -> None:
    there = text_at(row.place)
    if row.mark == "rule":
        rule = re.search(r"rule (\S+)", row.text)
        assert rule is not None
        assert there.startswith("[[rule]]"), row
        block = _block(row.place)
        assert f'id = "{rule[1]}"' in block, row
    elif row.mark == "head":
        assert there.startswith("[task."), row
    elif row.mark == "reading" and row.place.startswith("job-"):
        shown = re.search(
            r"(?:reading|from|also considered|limit, [a-z ]+): \S+(?: of \S+)? (-?[\d.]+(?:e-?\d+)?)", row.text
        )
        if shown:
            written = _NUMBER.search(there)
            assert written is not None
            assert float(written[0]) == pytest.approx(
                float(shown[1]), abs=0.5 * 10.0 ** -len(shown[1].partition(".")[2])
            ), (row, there)
        else:
            assert there.startswith('"'), row
    elif row.mark == "clause" and row.text.startswith("where ") and row.place.startswith("job-"):
        assert there.startswith(f'"{row.text.rsplit(" ", 1)[1]}"'), row
    elif row.mark == "clause" and "says" in row.text and row.text.startswith("“"):
        assert there.startswith("[[check]]"), row
    elif row.mark == "limit" and "set by" in row.text and not row.text.startswith("±"):
        shown = re.search(r"\) (-?[\d.]+(?:e-?\d+)?) ", row.text)
        assert shown is not None, row
        written = _NUMBER.match(there)
        assert written is not None, (row, there)
        assert float(written[0]) == float(shown[1]), (row, there)
    elif row.text.startswith("overrode"):
        value = tomllib.loads(
            "v = " + there.split("#")[0].strip() if "]" in there or "[" not in there else f"v = {_list_at(row.place)}"
        )["v"]
        assert str(value) in row.text, row


def _block(place: str) -> str:
    file, line, _ = place.rsplit(":", 2)
    lines = (POLICIES / file).read_text().splitlines()
    return "\n".join(lines[int(line) - 1 : int(line) + 6])


def _list_at(place: str) -> str:
    file, line, column = place.rsplit(":", 2)
    rest = "\n".join((POLICIES / file).read_text().splitlines()[int(line) - 1 :])[int(column) - 1 :]
    depth = 0
    for at, char in enumerate(rest):
        depth += {"[": 1, "]": -1}.get(char, 0)
        if depth == 0:
            return rest[: at + 1]
    raise AssertionError(place)


def test_an_overridden_value_is_shown_with_what_it_replaced() -> None:
    with Session(POLICIES) as session:
        result = session.evaluate(read_job(SCENARIOS / "job-1042.toml"))
    rows = why(result, "bedroom-return@bed-2")
    (place,) = {row.place for row in rows if row.mark == "limit" and "door_pressure_limit" in row.text}
    assert place.startswith("regions/hot-dry/")
    assert any(row.text.startswith("overrode [[0, 3], [150, 5]] of trade") for row in rows)


def test_an_unknown_line_is_answered_with_the_nearest(result: dict[str, Any]) -> None:
    name = result["lines"][0]["id"]
    with pytest.raises(ResultError, match=re.escape(name)):
        why(result, name[:-1] + "x")


def test_why_reads_the_result_file_alone(result: dict[str, Any]) -> None:
    again = json.loads(to_bytes(result))
    assert {name: why(again, name) for name in names(again)} == {name: why(result, name) for name in names(result)}
