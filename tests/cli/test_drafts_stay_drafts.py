"""What is made of a draft is a draft: every command takes one and says so, and nothing of it is sold as if it were live."""

import json
import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from jobs import SCENARIOS
from program import Called, call

RESULT = "papers/result-1042.json"
SAID = "DRAFT  Local facts of this market are not filled in yet: nobody may rely on this."
DONE, INPUT = 0, 2


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A market that was just started, a live job in it, and its draft with papers."""
    folder = tmp_path_factory.mktemp("draft")
    assert call(["policy", "new", "umber-flat", "--from", "copper-basin"], folder).status == DONE
    for file in ("job-1042.toml", "test-out-1042.toml"):
        text = (SCENARIOS / file).read_text("utf-8").replace("demo = true", "demo = false")
        (folder / file).write_text(text.replace('"copper-basin"', '"umber-flat"'), encoding="utf-8")
    assert call(["run", "job-1042.toml", "--draft", "--out", "papers", "--no-pdf"], folder).status == DONE
    return folder


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    shutil.copytree(made, tmp_path, dirs_exist_ok=True)
    return tmp_path


def _decide(folder: Path, *words: str) -> Called:
    return call(["decide", RESULT, "--record", "job-1042.toml", *words], folder)


def _result(folder: Path) -> dict[str, Any]:
    held: dict[str, Any] = json.loads((folder / RESULT).read_text("utf-8"))
    return held


def test_the_result_the_terminal_the_papers_and_the_spreadsheet_of_a_draft_say_so(folder: Path) -> None:
    assert _result(folder)["market"]["draft"] is True
    assert SAID in call(["run", "job-1042.toml", "--draft"], folder).out
    assert json.loads(call(["run", "job-1042.toml", "--draft", "--json"], folder).out)["market"]["draft"] is True
    assert call(["papers", RESULT, "--out", "again", "--no-pdf"], folder).status == DONE
    pages = sorted((folder / "again").glob("*.html"))
    assert len(pages) == 4
    assert all("DRAFT: local law of this market is not filled in yet" in page.read_text("utf-8") for page in pages)
    sheets = load_workbook(folder / "again" / "lines-1042.xlsx")
    said = [str(cell) for sheet in sheets for row in sheet.iter_rows(values_only=True) for cell in row]
    assert [cell for cell in said if cell.startswith("DRAFT")]


@pytest.mark.parametrize("how", [["--accept"], ["--decline"], ["--reason", "no room", "--by", "office", "--leave-out"]])
def test_a_draft_is_not_decided_as_if_it_were_live(how: list[str], folder: Path) -> None:
    before = (folder / "job-1042.toml").read_bytes()
    came = _decide(folder, *how, "seal-ducts@house")
    assert came.status == INPUT
    assert "[draft]" in came.err
    assert (folder / "job-1042.toml").read_bytes() == before


@pytest.mark.parametrize("how", [["--accept"], ["--decline"], ["--reason", "no room", "--by", "office", "--leave-out"]])
def test_a_draft_decided_on_purpose_says_in_the_record_that_it_was_one(how: list[str], folder: Path) -> None:
    came = _decide(folder, *how, "seal-ducts@house", "--draft")
    assert (came.status, SAID in came.out) == (DONE, True), came.err
    record = tomllib.loads((folder / "job-1042.toml").read_text("utf-8"))
    (block,) = record.get("choice", []) + record.get("override", [])
    assert "decided on a draft" in str(block.get("note", "")) + str(block.get("reason", ""))
    again = call(["run", "job-1042.toml"], folder)
    assert (again.status, "[unfilled]" in again.err) == (INPUT, True)


def test_the_result_of_a_decision_on_a_draft_is_a_draft(folder: Path) -> None:
    came = _decide(folder, "--decline", "seal-ducts@house", "--draft", "--json")
    assert came.status == DONE, came.err
    result = json.loads(came.out)
    assert result["market"]["draft"] is True
    assert result["sellable"]["answer"] != "yes"


def test_a_test_out_of_a_draft_is_held_to_its_targets_and_carries_the_mark(folder: Path) -> None:
    words = ["accept", RESULT, "test-out-1042.toml"]
    came = call([*words, "--out", "end", "--no-pdf"], folder)
    assert (came.status, SAID in came.out) == (DONE, True), came.err
    assert json.loads(call([*words, "--json"], folder).out)["market"]["draft"] is True
    assert "DRAFT" in (folder / "end" / "accepted-1042.html").read_text("utf-8")
    assert call(["accept", RESULT, "--blank"], folder).out.startswith("# DRAFT: ")


def test_a_live_result_bears_no_such_mark(tmp_path: Path) -> None:
    for words in (["run", "job-1042"], ["run", "job-1042", "--draft"]):
        assert "DRAFT" not in call(words, tmp_path).out
