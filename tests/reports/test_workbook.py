"""The workbook: what another library reads in it, that no text became a formula, link or number, the same bytes."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import datetime
from decimal import Decimal

import openpyxl
import pytest

from assess.records.text import pictured
from assess.reports.table_file import TableFile, TableSet
from assess.reports.workbook import LONGEST_CELL, workbook_bytes
from tests.reports.hostile import COLUMNS, DATED, hostile_set


@pytest.fixture(scope="module")
def raw() -> bytes:
    return workbook_bytes(hostile_set())


def opened(raw: bytes) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(raw))


def test_every_text_is_read_back_as_text_and_controls_as_pictures(raw: bytes) -> None:
    sheet = opened(raw)["notes"]
    told = [sheet.cell(row, 1) for row in range(2, sheet.max_row + 1)]
    wanted = [pictured(str(row[0])) for row in hostile_set().tables[0].rows]
    assert [cell.value for cell in told] == wanted
    assert {cell.data_type for cell in told} == {"s"}
    assert {cell.hyperlink for cell in told} == {None}


def test_there_is_no_formula_no_link_and_no_control_character_in_the_xml(raw: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        names = archive.namelist()
        for name in names:
            text = archive.read(name).decode("utf-8")
            assert not re.search(r"[\x00-\x08\x0b-\x1f]", text), name
            assert "<hyperlink " not in text.lower(), name
            if "worksheets" in name:
                assert not re.search(r"<f[ >/]", text), name
    assert not any("external" in name.lower() or "vba" in name.lower() for name in names)
    assert all(not name.startswith("/") and ".." not in name for name in names)


def test_a_text_that_spells_an_escape_of_the_format_is_escaped_itself(raw: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        assert b"<t>_x005F_x000D_</t>" in archive.read("xl/sharedStrings.xml")


def test_numbers_days_and_instants_are_what_they_are(raw: bytes) -> None:
    sheet = opened(raw)["notes"]
    assert [sheet.cell(1, place).value for place in range(1, 6)] == [
        "words", "count (things)", "value (level)", "on", "at (UTC)",
    ]  # fmt: skip
    assert [sheet.cell(2, place).value for place in range(2, 6)] == [
        7, -1.5, datetime(2027, 3, 28), datetime(2027, 3, 28, 8, 15),  # noqa: DTZ001
    ]  # fmt: skip
    assert [sheet.cell(2, place).number_format for place in range(1, 6)] == [
        "@", "0", "0.00####", "yyyy-mm-dd", "yyyy-mm-dd hh:mm:ss",
    ]  # fmt: skip


def test_headers_are_frozen_and_each_sheet_holds_one_real_table(raw: bytes) -> None:
    book = opened(raw)
    assert book.sheetnames == ["about", "notes", "empty"]
    for sheet in book:
        assert sheet.freeze_panes == "B2"
        ((name, place),) = sheet.tables.items()
        assert name == f"{sheet.title}_rows" and place.startswith("A1:")
        assert len(sheet.title) <= 31 and not set("[]:*?/\\") & set(sheet.title)
    assert opened(raw)["empty"].cell(2, 1).value is None


def test_the_first_sheet_says_for_whom_it_is_as_of_when_and_what_is_left_out(raw: bytes) -> None:
    told = {(row[0].value, row[1].value) for row in opened(raw)["about"].iter_rows(min_row=2)}
    assert ("audience", "panel") in told and ("record as of", "2027-03-28T08:15:00.000Z") in told
    assert ("left out", "T1 of C02: not locked by all.") in told
    assert ("table empty", "Nothing. None yet.") in told
    assert opened(raw).properties.created == DATED.replace(tzinfo=None)


def test_the_same_tables_give_the_same_bytes(raw: bytes) -> None:
    assert workbook_bytes(hostile_set()) == raw


def test_a_text_no_cell_can_hold_is_cut_and_says_so() -> None:
    rows = (("x" * 40_000, 1, Decimal(1), None, None), ("y" * LONGEST_CELL, 1, None, None, None))
    made = TableSet("K", "T", "panel", "x", DATED, (TableFile("notes", "Notes", COLUMNS, rows),))
    sheet = opened(workbook_bytes(made))["notes"]
    assert len(sheet["A2"].value) == LONGEST_CELL and sheet["A2"].value.endswith("x [cut: 40000 characters]")
    assert sheet["A3"].value == "y" * LONGEST_CELL


def test_lone_halves_of_characters_are_told_and_break_nothing() -> None:
    made = TableSet(
        "K", "T", "panel", "x", DATED,
        (TableFile("notes", "Notes", COLUMNS, (("a\ud800b\uffff", None, None, None, None),)),),
    )  # fmt: skip
    assert opened(workbook_bytes(made))["notes"]["A2"].value == "a\ufffdb\ufffd"
