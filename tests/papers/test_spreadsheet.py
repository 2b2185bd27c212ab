"""The spreadsheet, opened with openpyxl: numbers are numbers, text is text, no cell is a formula, the same bytes each time."""

import zipfile
from decimal import Decimal
from io import BytesIO
from typing import Any

import openpyxl
import pytest

from airwarrant.papers.words import LANGUAGES, words_of
from airwarrant.papers.write import make
from jobs import JOBS, data, scope
from results import UNKIND, record_with_names, record_with_rooms, result_of

#: What spreadsheet programs may take for a formula or a command (OWASP, CSV Injection), and text a file cannot hold as it is.
FORMULAS = (
    "=1+1",
    '=HYPERLINK("https://example.org","look")',
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1+1",
    "\r=1+1",
    "=cmd|' /C calc'!A0",
    "https://example.org",
    "1042",
    "nul \x00 bell \x07",
    "x" * 40_000,
)


def sheets(result: dict[str, Any], language: str = "en") -> Any:
    (made,) = make(result, language=language, only=["lines"]).values()
    return openpyxl.load_workbook(BytesIO(made))


def rows(book: Any, name: str) -> list[dict[str, Any]]:
    head, *body = book[words_of("en")(f"spreadsheet.sheet.{name}")].iter_rows(values_only=True)
    return [dict(zip(head, row, strict=True)) for row in body]


@pytest.mark.parametrize("job", JOBS)
def test_the_same_result_gives_the_same_spreadsheet(job: str) -> None:
    first, again = (make(result_of(job), only=["lines"]) for _ in range(2))
    assert first == again
    ((name, made),) = first.items()
    assert name == f"lines-{job}.xlsx"
    with zipfile.ZipFile(BytesIO(made)) as packed:
        assert {one.date_time for one in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}, "no clock"


def test_text_of_a_record_is_never_a_formula() -> None:
    """Every text of the result is made to begin like a formula; every cell stays the text it was."""
    result = result_of("1042")
    for i, line in enumerate(result["lines"]):
        line |= {"title": FORMULAS[i % len(FORMULAS)], "said": FORMULAS[i % len(FORMULAS)], "size": "=2*2"}
    for i, one in enumerate(result["crew"]["materials"]["together"]):
        one["title"] = FORMULAS[i % len(FORMULAS)]
    for i, item in enumerate(result["record"]["items"].values()):
        item["name"] = FORMULAS[i % len(FORMULAS)]
    result["job_id"] = "=1+1"
    result["market"] |= {"title": "=1+1", "currency": "@demo"}
    (made,) = make(result, only=["lines"]).values()
    book = openpyxl.load_workbook(BytesIO(made))
    for page in book:
        for row in page.iter_rows():
            for cell in row:
                assert cell.data_type != "f", (page.title, cell.coordinate)
                assert cell.hyperlink is None
                if isinstance(cell.value, str) and cell.value.startswith(("=", "+", "-", "@", "\t", "\r")):
                    assert cell.quotePrefix, (page.title, cell.coordinate)
    titles = [row["Work"] for row in rows(book, "lines")]
    assert titles[:5] == list(FORMULAS[:5])
    assert titles[9] == "1042", "text that looks like a number stays text"
    assert len(titles[11]) == 32_767, "the most a cell may hold"
    with zipfile.ZipFile(BytesIO(made)) as packed:
        for one in packed.namelist():
            assert b"<f>" not in packed.read(one), one
            assert "externalLink" not in one


@pytest.mark.parametrize("job", JOBS)
def test_lines_are_the_results_own(job: str) -> None:
    result = result_of(job)
    shown = rows(sheets(result), "lines")
    assert [row["Line"] for row in shown] == [line["id"] for line in result["lines"]]
    for row, line in zip(shown, result["lines"], strict=True):
        assert row["No."] == line["order"]
        for head, value in (("Person-hours (h)", "hours"), ("Amount (demo), invented", "amount")):
            told = line["price"].get(value)
            assert row[head] == (None if told is None else pytest.approx(float(told))), line["id"]
        if line["state"] == "held":
            assert row["Amount (demo), invented"] is None
            assert row["Waits for"]


def test_a_number_that_changes_in_the_result_changes_here() -> None:
    result = result_of("1042")
    elbow = next(line for line in result["lines"] if line["task"] == "replace-elbow")
    elbow["price"] |= {"amount": "9876.50", "hours": "7.25"}
    result["totals"]["amount"] = "54321.00"
    result["predictions"]["options"][0]["readings"]["house"]["airflow"] |= {"value": 1357.0, "low": 1301.0}
    flex = next(one for one in result["crew"]["materials"]["together"] if one["item"] == "flex-duct")
    flex["quantity"] = "63.8"
    book = sheets(result)
    line = next(row for row in rows(book, "lines") if row["Line"] == elbow["id"])
    assert (line["Amount (demo), invented"], line["Person-hours (h)"]) == (9876.5, 7.25)
    assert rows(book, "totals")[-1]["Amount (demo), invented"] == 54321
    assert 63.8 in [row["How much"] for row in rows(book, "materials")]
    flows = [row for row in rows(book, "predictions") if (row["Value"], row["From"]) == (1357, 1301)]
    assert [row["Unit"] for row in flows] == ["cfm"]


@pytest.mark.parametrize("job", JOBS)
def test_totals_add_up(job: str) -> None:
    """Kinds of lines and charges come to the total, within the cents that a spreadsheet's numbers hold."""
    *parts, whole = [row["Amount (demo), invented"] for row in rows(sheets(result_of(job)), "totals")]
    assert sum(Decimal(str(one)) for one in parts) == Decimal(str(whole))


@pytest.mark.parametrize("job", JOBS)
def test_materials_together_are_those_of_the_lines(job: str) -> None:
    """By hand: what the lines need of one thing in one size comes to what is loaded, whole pieces rounded up."""
    book = sheets(result_of(job))
    by_line: dict[tuple[str, str], Decimal] = {}
    for row in rows(book, "by_line"):
        key = (row["What"], row["Size"] or "")
        by_line[key] = by_line.get(key, Decimal(0)) + Decimal(str(row["How much"]))
    together = {(row["What"], row["Size"] or ""): Decimal(str(row["How much"])) for row in rows(book, "materials")}
    assert together == by_line


def test_heads_stay_in_view_and_columns_are_wide_enough_to_read() -> None:
    for page in sheets(result_of("1042")):
        assert page.freeze_panes is not None, page.title
        assert len(page.title) <= 31
        for column in range(1, page.max_column + 1):
            letter = openpyxl.utils.get_column_letter(column)
            longest = max(len(word) for word in str(page.cell(1, column).value).split())
            assert page.column_dimensions[letter].width > longest, (page.title, letter)


@pytest.mark.parametrize("language", LANGUAGES)
def test_odd_jobs_make_a_spreadsheet(language: str) -> None:
    stopped, nothing = data("1042"), data("1042")
    stopped["visit"][0]["gas_smell"] = "yes"
    del nothing["visit"]
    for record in (record_with_names(UNKIND), record_with_rooms(0), record_with_rooms(100), stopped, nothing):
        assert len(sheets(scope(record), language).sheetnames) == 6


def test_no_prices_leave_the_cells_empty() -> None:
    result = result_of("1042")
    for line in result["lines"]:
        line["price"] = {}
    result["totals"] = {"amount": None, "why": "no price book"}
    result["crew"]["materials"] = {"together": [], "lines": []}
    book = sheets(result)
    assert {row["Amount (demo), invented"] for row in rows(book, "lines")} == {None}
    assert rows(book, "totals") == [{"What": "Total", "Amount (demo), invented": None, "Why": "no price book"}]
