"""A course with hostile names, places and notes through every command that writes or prints: text stays text."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from pathlib import Path

import icalendar
import openpyxl
import pytest

from assess.records.text import pictured, typed
from assess.reports.csv_file import unguarded
from tests.cli.commands import Ran, assess, tree
from tests.reports.hostile import HOSTILE
from tests.reports.hostile_course import NAMES, hostile_course

NOTES = [typed(note[:8000]) for note in HOSTILE]
"""As they are recorded."""
TRIGGERS = tuple("=+-@\t\r\n\0＝＋－＠")


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return hostile_course(tmp_path_factory.mktemp("hostile") / "course")


def export(root: Path, form: str, out: Path, *more: str) -> Ran:
    ran = assess("export", root, "--to", form, "--out", out, "--as", "D1", *more)
    assert ran.code == 0, ran.err
    return ran


def rows_of(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_bytes().decode("utf-8"), newline=""), strict=True))


def test_a_csv_gives_every_note_back_and_no_cell_begins_like_a_formula(root: Path, tmp_path: Path) -> None:
    export(root, "tables", tmp_path / "out")
    rows = [row for row in rows_of(tmp_path / "out" / "seen.csv") if row["task"] == "T1"]
    assert [unguarded(row["text"]) for row in rows] == NOTES
    for path in (tmp_path / "out").glob("*.csv"):
        for row in rows_of(path):
            for cell in row.values():
                assert not cell.lstrip(" \u00a0\u3000").startswith(TRIGGERS) or re.fullmatch(r"-?\d+(\.\d+)?", cell)


def test_a_raw_csv_the_document_and_parquet_hold_every_note_as_it_is(root: Path, tmp_path: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    export(root, "tables", tmp_path / "raw", "--raw")
    assert [row["text"] for row in rows_of(tmp_path / "raw" / "seen.csv") if row["task"] == "T1"] == NOTES
    document = json.loads((tmp_path / "raw" / "tables.json").read_text(encoding="utf-8"))
    (seen,) = (table for table in document["tables"] if table["name"] == "seen")
    assert [row[-2] for row in seen["rows"] if row[0] == "T1"] == NOTES
    export(root, "parquet", tmp_path / "parquet")
    read = parquet.read_table(tmp_path / "parquet" / "seen.parquet").to_pylist()
    assert [row["text"] for row in read if row["task"] == "T1"] == NOTES


def test_a_workbook_holds_every_note_as_text_and_no_formula(root: Path, tmp_path: Path) -> None:
    export(root, "workbook", tmp_path)
    (path,) = tmp_path.glob("*.xlsx")
    sheet = openpyxl.load_workbook(path)["seen"]
    cells = [row[6] for row in sheet.iter_rows(min_row=2) if row[0].value == "T1"]
    assert [cell.value for cell in cells] == [pictured(note) for note in NOTES]
    assert {(cell.data_type, cell.hyperlink) for cell in cells} == {("s", None)}
    with zipfile.ZipFile(path) as archive:
        sheets = [archive.read(name) for name in archive.namelist() if "worksheets/sheet" in name]
    assert len(sheets) == 8 and not any(re.search(rb"<f[ >/]", raw) for raw in sheets)


def test_a_calendar_holds_title_and_places_as_text_and_no_name(root: Path, tmp_path: Path) -> None:
    export(root, "calendar", tmp_path)
    (path,) = tmp_path.glob("*.ics")
    found = icalendar.Calendar.from_ical(path.read_bytes())
    title = json.loads(re.search(r"^title: (.*)$", (root / "course.yaml").read_text(), re.M)[1])  # type: ignore[index]
    assert str(found["name"]) == title and len(found.walk("VEVENT")) == 4
    assert {line.split(b":")[0].split(b";")[0] for line in path.read_bytes().split(b"\r\n") if line[:1] != b" "} <= {
        b"BEGIN", b"END", b"VERSION", b"PRODID", b"CALSCALE", b"NAME", b"DESCRIPTION", b"SUMMARY", b"DTSTART", b"DTEND",
        b"DTSTAMP", b"UID", b"SEQUENCE", b"CLASS", b"LOCATION", b"STATUS", b"TRANSP", b"DURATION", b"",
    }  # fmt: skip
    assert not any(name in str(event) for name in NAMES for event in found.walk("VEVENT"))


def test_nothing_is_written_outside_the_chosen_folder(root: Path, tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    before = tree(root.parent)
    (tmp_path / "out").mkdir()
    out = tmp_path / "out"
    for form in ("workbook", "tables", "calendar"):
        export(root, form, out)
    told = [
        assess("export", root, "--to", "csv", "--out", out / "scores-only.csv", "--as", "D1"),
        assess("case", root, "C01", "--html", out / "case.html", "--zip", out / "case.zip", "--as", "D1"),
        assess("person", "export", root, "C01", "--to", out / "copy.zip", "--as", "D1"),
        assess("cards", root, "--to", out, "--as", "A1"),
    ]
    assert [ran.code for ran in told] == [0, 0, 0, 0], [ran.err for ran in told]
    assert tree(root.parent) == before
    assert {name.split("/")[0] for name in tree(tmp_path)} == {"out"}
    for path in out.glob("*.zip"):
        with zipfile.ZipFile(path) as archive:
            assert all(not name.startswith("/") and ".." not in name.split("/") for name in archive.namelist())


@pytest.mark.parametrize(
    "words",
    [
        ["results", "COURSE"],
        ["case", "COURSE", "C01"],
        ["agreement", "COURSE"],
        ["severity", "COURSE"],
        ["plan", "COURSE", "--programme"],
        ["person", "due", "COURSE"],
    ],
)
def test_what_is_printed_holds_no_control_character_and_no_override(root: Path, words: list[str]) -> None:
    ran = assess(*(root if word == "COURSE" else word for word in words), "--as", "D1")
    said = ran.out + ran.err
    assert ran.code in (0, 1) and said
    assert not any((ord(char) < 0x20 and char != "\n") or 0x7F <= ord(char) <= 0x9F for char in said)
    assert not any(char in said for char in "\u202a\u202b\u202d\u202e\u2066\u2067\u2068")
    assert words[0] != "case" or "window.__ran" in said
