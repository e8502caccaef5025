"""Tables as one workbook (OOXML): strings stay strings, dates are the record's, the same tables give the same bytes."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from assess.records.text import pictured
from assess.reports.library import library
from assess.reports.table_file import Cell, Column, Kind, TableFile, TableSet

if TYPE_CHECKING:
    from xlsxwriter import Workbook

__all__ = ["LONGEST_CELL", "workbook_bytes"]

LONGEST_CELL = 32_767
"""What one cell of a workbook can hold, in characters; a longer text is cut, and says so."""
_FORMATS: dict[Kind, str] = {
    "text": "@",
    "whole": "0",
    "number": "0.00####",
    "day": "yyyy-mm-dd",
    "instant": "yyyy-mm-dd hh:mm:ss",
}
_OPTIONS = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
# No XML may hold these; lone halves of surrogate pairs are no characters at all.
_NO_XML = re.compile(r"[\ufffe\uffff\ud800-\udfff]")
_WIDEST, _NARROWEST = 60, 8


def workbook_bytes(book: TableSet) -> bytes:
    """A worksheet for what the tables are, then one for each: header frozen, a real table, number formats."""
    with library("xlsxwriter", "a workbook", instead="`--to tables` writes the same as CSV"):
        from xlsxwriter import Workbook

    into = io.BytesIO()
    made = Workbook(into, dict(_OPTIONS))
    made.set_properties({
        "title": _shown(book.title), "subject": book.course, "category": book.audience, "comments": book.promise,
        "created": book.dated.replace(tzinfo=None),
    })  # fmt: skip
    formats = {kind: made.add_format({"num_format": code, "valign": "top"}) for kind, code in _FORMATS.items()}
    for table in (book.about(), *book):
        _sheet(made, table, formats)
    made.close()
    return into.getvalue()


def _sheet(made: Workbook, table: TableFile, formats: dict[Kind, Any]) -> None:
    sheet = made.add_worksheet(table.name)
    for place, column in enumerate(table.columns):
        sheet.set_column(place, place, _width(table, place), formats[column.kind])
    # A table needs one row under its header even when there is nothing to tell.
    last = max(len(table.rows), 1)
    headers = [{"header": _shown(_header(column))} for column in table.columns]
    sheet.add_table(0, 0, last, len(table.columns) - 1, {
        "name": f"{table.name}_rows", "columns": headers, "style": "Table Style Light 1",
    })  # fmt: skip
    sheet.freeze_panes(1, 1)
    for number, row in enumerate(table.rows, start=1):
        for place, (column, cell) in enumerate(zip(table.columns, row, strict=True)):
            _write(sheet, number, place, cell, formats[column.kind])


def _header(column: Column) -> str:
    unit = "UTC" if column.kind == "instant" else column.unit
    return f"{column.name} ({unit})" if unit and unit != column.name else column.name


def _write(sheet: Any, row: int, place: int, cell: Cell, shape: Any) -> None:
    if cell is None:
        return
    if isinstance(cell, str):
        sheet.write_string(row, place, _shown(cell), shape)
    elif isinstance(cell, int | Decimal):
        sheet.write_number(row, place, cell, shape)
    else:
        moment = cell.replace(tzinfo=None) if isinstance(cell, datetime) and cell.tzinfo is UTC else cell
        sheet.write_datetime(row, place, moment, shape)


def _shown(text: str) -> str:
    """Text as a cell can hold it: controls as pictures, direction overrides named, cut where a cell ends."""
    text = _NO_XML.sub("\ufffd", pictured(text))
    if len(text) <= LONGEST_CELL:
        return text
    told = f" [cut: {len(text)} characters]"
    return text[: LONGEST_CELL - len(told)] + told


def _width(table: TableFile, place: int) -> int:
    texts = [_header(table.columns[place]), *(str(row[place]) for row in table.rows[:200] if row[place] is not None)]
    return min(_WIDEST, max(_NARROWEST, *(len(text) + 2 for text in texts)))
