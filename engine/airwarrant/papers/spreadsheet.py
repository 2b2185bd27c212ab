"""The spreadsheet of a job: lines, totals, materials, predictions. Text is written as text and numbers as numbers; no cell is a formula."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from typing import Any

from airwarrant.papers.safe_text import visible
from airwarrant.papers.sheet import Sheet

Cell = str | int | float | None

#: What a spreadsheet program may take for the start of a formula; such text is marked as quoted, so that editing keeps it text.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "|", "%")
#: Most characters that a cell may hold, by the file format (ECMA-376 Part 1, SpreadsheetML, as XlsxWriter documents it).
_MOST = 32_767
_MONEY, _NUMBER, _WHOLE = "#,##0.00", "General", "0"


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its head, its width in characters, and the number format of its cells."""

    head: str
    width: int
    format: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet: `fixed` columns stay in view beside the head row."""

    name: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Cell]]
    fixed: int = 1


def spreadsheet(sheet: Sheet) -> bytes:
    """Return the spreadsheet; the same result gives the same bytes."""
    import xlsxwriter

    made = BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(made, options) as book:
        day = datetime.fromisoformat(sheet.result["dates"]["survey"])
        book.set_properties({"title": visible(sheet.words("base.job", id=sheet.result["job_id"])), "created": day})
        for table in _tables(sheet):
            _write(book, table)
    return made.getvalue()


def _tables(sheet: Sheet) -> Iterator[Table]:
    yield _job(sheet)
    yield _lines(sheet)
    yield _totals(sheet)
    yield _materials(sheet)
    yield _by_line(sheet)
    yield _predictions(sheet)


def _write(book: Any, table: Table) -> None:
    sheet = book.add_worksheet(table.name)
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    for index, column in enumerate(table.columns):
        style = {"valign": "top", "text_wrap": not column.format}
        if column.format:
            style["num_format"] = column.format
        plain = book.add_format(style)
        quoted = book.add_format({**style, "quote_prefix": True})
        width = max(column.width, *(len(word) + 2 for word in column.head.split()))
        sheet.set_column(index, index, width, plain)
        sheet.write_string(0, index, column.head, head)
        for row, cells in enumerate(table.rows, 1):
            cell = cells[index]
            if isinstance(cell, str):
                if cell:
                    text = visible(cell)[:_MOST]
                    sheet.write_string(row, index, text, quoted if text.startswith(_FORMULA) else plain)
            elif cell is not None:
                sheet.write_number(row, index, cell, plain)
    sheet.freeze_panes(1, table.fixed)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    if table.rows:
        sheet.autofilter(0, 0, len(table.rows), len(table.columns) - 1)


def _job(sheet: Sheet) -> Table:
    w, result = sheet.words, sheet.result
    rows: list[tuple[Cell, Cell]] = [
        (w("spreadsheet.job"), result["job_id"]),
        (w("spreadsheet.market"), result["market"]["title"]),
        (w("spreadsheet.survey"), result["dates"]["survey"]),
        *([(w("spreadsheet.offered"), sheet.offered)] if sheet.offered else []),
        (w("spreadsheet.sellable"), w.of("spreadsheet.answer", result["sellable"]["answer"])),
        *((w("spreadsheet.why"), sheet.say(why)) for why in result["sellable"]["why"]),
        (w("spreadsheet.currency"), result["market"]["currency"]),
        (w("spreadsheet.digest_job"), result["digests"]["job"]),
        (w("spreadsheet.digest_policy"), result["digests"]["policy"]),
    ]
    if result["demo"]:
        rows.insert(0, (w("spreadsheet.note"), w("base.demo")))
    if result["market"].get("draft"):
        rows.insert(0, (w("spreadsheet.note"), w("base.draft")))
    return Table(
        w("spreadsheet.sheet.job"),
        (Column(w("spreadsheet.what"), 26), Column(w("spreadsheet.value"), 72)),
        rows,
    )


def _amount_head(sheet: Sheet) -> str:
    name = "spreadsheet.amount_demo" if sheet.result["demo"] else "spreadsheet.amount"
    return sheet.words(name, currency=sheet.result["market"]["currency"])


def _lines(sheet: Sheet) -> Table:
    w = sheet.words
    columns = (
        Column(w("spreadsheet.order"), 6, _WHOLE),
        Column(w("spreadsheet.line"), 28),
        Column(w("spreadsheet.title"), 40),
        Column(w("spreadsheet.place"), 18),
        Column(w("spreadsheet.tier"), 14),
        Column(w("spreadsheet.state"), 14),
        Column(w("spreadsheet.size"), 14),
        Column(w("spreadsheet.quantity"), 9, _WHOLE),
        Column(w("spreadsheet.unit_off"), 9),
        Column(w("spreadsheet.hours"), 10, _NUMBER),
        Column(_amount_head(sheet), 14, _MONEY),
        Column(w("spreadsheet.waits"), 44),
        Column(w("spreadsheet.said"), 60),
    )
    rows = [
        (
            line["order"],
            line["id"],
            sheet.say(line["title"]),
            sheet.place(line["place"]),
            w.of("spreadsheet.tiers", line["tier"]),
            w.of("spreadsheet.states", line["state"]),
            sheet.say(line["size"]),
            line["quantity"],
            w("spreadsheet.yes") if line["unit_off"] else w("spreadsheet.no"),
            _float(line["price"].get("hours")),
            _float(line["price"].get("amount")),
            "; ".join(sheet.say(hold["said"]) for hold in line["held_by"]),
            sheet.say(line["said"]),
        )
        for line in sheet.result["lines"]
    ]
    return Table(w("spreadsheet.sheet.lines"), columns, rows, 2)


def _totals(sheet: Sheet) -> Table:
    w, totals = sheet.words, sheet.result["totals"]
    columns = (
        Column(w("spreadsheet.what"), 44),
        Column(_amount_head(sheet), 16, _MONEY),
        Column(w("spreadsheet.why"), 60),
    )
    rows: list[tuple[Cell, Cell, Cell]] = [
        (w.of("spreadsheet.tiers", tier), _float(amount), "") for tier, amount in totals.get("tiers", {}).items()
    ]
    rows += [
        (sheet.say(one["title"]), _float(one["amount"]), sheet.say(one["said"])) for one in totals.get("charges", ())
    ]
    rows.append((w("spreadsheet.total"), _float(totals["amount"]), sheet.say(totals["why"])))
    return Table(w("spreadsheet.sheet.totals"), columns, rows)


def _material_columns(sheet: Sheet) -> tuple[Column, ...]:
    w = sheet.words
    return (
        Column(w("materials.item"), 46),
        Column(w("materials.size"), 12),
        Column(w("materials.quantity"), 12, _NUMBER),
        Column(w("spreadsheet.unit"), 9),
        Column(w("spreadsheet.waste"), 10),
        Column(w("spreadsheet.assumed"), 14),
    )


def _material(sheet: Sheet, one: Mapping[str, Any]) -> tuple[Cell, ...]:
    w = sheet.words
    size = " ".join(filter(None, (one["size"] or one["piece"], one["size_unit"] or one["piece_unit"])))
    return (
        sheet.say(one["title"]),
        size,
        _float(one["quantity"]),
        w.of("materials.unit", one["unit"]),
        w("spreadsheet.yes") if one["waste"] else w("spreadsheet.no"),
        w("spreadsheet.yes") if one["assumed"] else w("spreadsheet.no"),
    )


def _materials(sheet: Sheet) -> Table:
    rows = [(*_material(sheet, one), ", ".join(one["lines"])) for one in sheet.result["crew"]["materials"]["together"]]
    columns = (*_material_columns(sheet), Column(sheet.words("materials.for_lines"), 60))
    return Table(sheet.words("spreadsheet.sheet.materials"), columns, rows)


def _by_line(sheet: Sheet) -> Table:
    rows = [
        (one["line"], *_material(sheet, material))
        for one in sheet.result["crew"]["materials"]["lines"]
        for material in one["materials"]
    ]
    columns = (Column(sheet.words("spreadsheet.line"), 30), *_material_columns(sheet))
    return Table(sheet.words("spreadsheet.sheet.by_line"), columns, rows)


def _predictions(sheet: Sheet) -> Table:
    w, predictions = sheet.words, sheet.result["predictions"]
    columns = (
        Column(w("spreadsheet.case"), 22),
        Column(w("spreadsheet.setting"), 14),
        Column(w("spreadsheet.place"), 18),
        Column(w("spreadsheet.reading"), 36),
        Column(w("spreadsheet.value"), 12, _NUMBER),
        Column(w("spreadsheet.plus_minus"), 10, _NUMBER),
        Column(w("spreadsheet.low"), 12, _NUMBER),
        Column(w("spreadsheet.high"), 12, _NUMBER),
        Column(w("spreadsheet.unit"), 12),
    )
    titles = {name: title for name, title in _titles(sheet)}
    cases = [("found", "", predictions["network_as_found"] or {})]
    cases += [("like_for_like", one["setting"], one["readings"]) for one in predictions["like_for_like"] or ()]
    cases += [("option", one["setting"], one["readings"]) for one in predictions["options"] or ()]
    rows = [
        (
            w(f"spreadsheet.cases.{case}"),
            setting,
            sheet.place(key),
            sheet.say(titles.get(name, name.replace("_", " "))),
            one["value"],
            one["plus_minus"],
            one.get("low"),
            one.get("high"),
            one["unit"],
        )
        for case, setting, places in cases
        for key, readings in places.items()
        for name, one in readings.items()
    ]
    return Table(w("spreadsheet.sheet.predictions"), columns, rows, 4)


def _titles(sheet: Sheet) -> Iterable[tuple[str, str]]:
    """What a reading is called, where the result tells it."""
    for visit in sheet.result["record"]["visits"]:
        for one in visit["readings"]:
            yield one["field"], one["title"]
    for one in sheet.result["predictions"]["moved"] or ():
        yield one["reading"], one["title"]


def _float(text: str | None) -> float | None:
    return None if text is None else float(text)
