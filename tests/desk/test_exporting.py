"""Scores of locked sheets as a table: it reads back the same, and holds what this person may read."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path

import pytest

from assess.desk.demo import sample_course
from assess.desk.exporting import export_scores, write_export
from assess.desk.importing import import_scores
from assess.desk.outcomes import results_json
from assess.desk.score_table import COLUMNS, csv_text
from assess.records.errors import Refusal, StorageTrouble
from tests.cli.commands import ROOT
from tests.courses import build_course, open_desk, release

HEADER = ",".join(COLUMNS)


def for_the_panel(table: str) -> str:
    """A table as it is exported for the panel."""
    first, *rows = table.splitlines()
    return "\r\n".join([f"{first},audience", *(f"{row},panel" for row in rows), ""])


def fill(root: Path, who: str, device: str, level: int, *, lock: bool = True) -> None:
    desk = open_desk(root, who, device=device)
    for task in ("T1", "T4"):
        for slot in desk.mine(task):
            sheet = desk.slot(task, slot.candidate)
            for criterion in sheet.criteria:
                sheet.score(criterion, level)
            if lock:
                sheet.lock()
    assert desk.close()


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", candidates=2)


def test_a_table_that_was_imported_is_exported_byte_for_byte(root: Path) -> None:
    rows = [
        "1,T1,1,C01,A1,over-feet,4,scored,r-2026.1",
        "1,T1,1,C01,A1,edging,,not-observed-fog,r-2026.1",
        "1,T1,1,C01,A1,line,,absent-ill,r-2026.1",
        "1,T1,1,C01,A1,speed-control,,not-applicable,r-2026.1",
        "1,T1,1,C01,A2,over-feet,,ended-unsafe,r-2026.1",
        "1,T1,1,C01,A2,edging,,not-observed,r-2026.1",
        "1,T1,1,C01,A2,line,1,scored,r-2026.1",
        "1,T1,1,C01,A2,speed-control,6,scored,r-2026.1",
    ]
    path = root.parent / "scores.csv"
    content = "\r\n".join([HEADER, *rows, ""])
    path.write_text(content, newline="")
    desk = open_desk(root, "D1")
    import_scores(desk, path)
    assert export_scores(open_desk(root, "D1")).as_csv() == for_the_panel(content)


def test_what_is_exported_can_be_imported_into_a_copy_of_the_course(root: Path, tmp_path: Path) -> None:
    fill(root, "A1", "d7h2k", 4)
    fill(root, "A2", "a2a2a", 5)
    exported = export_scores(open_desk(root, "D1"))
    assert len(exported.rows) == 2 * 2 * 2 * 4 and exported.open_slots == ()
    path = tmp_path / "scores.csv"
    write_export(exported.as_csv(), path)
    copy = build_course(tmp_path / "copy", candidates=2)
    import_scores(open_desk(copy, "D1"), path)
    assert export_scores(open_desk(copy, "D1")) == exported


def test_an_assessor_gets_their_own_locked_sheets_and_others_only_when_all_are_locked(root: Path) -> None:
    fill(root, "A1", "d7h2k", 4)
    desk = open_desk(root, "A2", device="a2a2a")
    sheet = desk.slot("T1", "C01")
    for criterion in sheet.criteria:
        sheet.score(criterion, 5)
    sheet.lock()
    desk.close()
    mine = export_scores(open_desk(root, "A1"))
    assert {(row["candidate"], row["assessor"]) for row in mine.rows if row["task"] == "T1"} == {
        ("C01", "A1"), ("C01", "A2"), ("C02", "A1"),
    }  # fmt: skip
    assert ("T1", "C02") in mine.open_slots and ("T1", "C01") not in mine.open_slots
    theirs = export_scores(open_desk(root, "A2"))
    assert {(row["candidate"], row["assessor"]) for row in theirs.rows} == {("C01", "A1"), ("C01", "A2")}


def test_nobody_gets_anything_before_the_release(root: Path) -> None:
    fill(root, "A1", "d7h2k", 4)
    fill(root, "A2", "a2a2a", 5)
    assert export_scores(open_desk(root, None)).rows == ()
    release(root)
    assert len(export_scores(open_desk(root, None)).rows) == 32


def test_a_sheet_that_is_not_locked_is_not_exported_not_even_to_its_marker(root: Path) -> None:
    fill(root, "A1", "d7h2k", 4, lock=False)
    found = export_scores(open_desk(root, "A1"))
    assert found.rows == () and len(found.open_slots) == 4


def test_the_document_holds_the_same_rows_with_numbers_as_numbers(root: Path) -> None:
    fill(root, "A1", "d7h2k", 4)
    fill(root, "A2", "a2a2a", 5)
    found = export_scores(open_desk(root, "D1"))
    document = found.as_json()
    assert json.loads(json.dumps(document)) == document
    assert [str(row["score"]) for row in document["scores"]] == [row["score"] for row in found.rows]
    assert document["course"] == "K-TEST" and document["left_out"] == []


def test_cells_a_spreadsheet_would_take_for_a_formula_are_guarded() -> None:
    row = {**dict.fromkeys(COLUMNS, "x"), "candidate": "-1", "assessor": "=A1", "criterion": "+c", "status": "@s"}
    (told,) = list(csv.reader(io.StringIO(csv_text([row], "panel"), newline="")))[1:]
    assert told == ["x", "x", "x", "'-1", "'=A1", "'+c", "x", "'@s", "x", "panel"]


def test_an_export_never_takes_the_place_of_a_file_and_says_so_when_it_cannot_be_written(tmp_path: Path) -> None:
    taken = tmp_path / "course.yaml"
    taken.write_text("kept")
    with pytest.raises(Refusal, match="name a file that does not exist yet"):
        write_export("x", taken)
    assert taken.read_text() == "kept"
    with pytest.raises(StorageTrouble, match="cannot be written"):
        write_export("x", tmp_path / "no such folder" / "out.csv")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["course.yaml"]


def test_the_sample_course_comes_back_from_its_own_table_with_the_same_outcomes(tmp_path: Path) -> None:
    """480 rows: imported into the course without its records they give its results, but for what a breach decided."""
    root = tmp_path / "course"
    shutil.copytree(sample_course(), root)
    for folder in ("sheets", "days", "decisions", "seals"):
        shutil.rmtree(root / folder)
    table = ROOT / "sample_sessions" / "source" / "course_scores.csv"
    desk = open_desk(root, "D1")
    report = import_scores(desk, table)
    assert len(report.written) == 120 and sum(report.statuses.values()) == 480
    again = open_desk(root, "D1")
    assert export_scores(again).as_csv() == for_the_panel(table.read_text(encoding="utf-8"))
    told = ("outcome", "mean_exact", "band", "n_sheets", "moderation_due", "reach")
    imported, marked = (
        results_json(each.outcomes())["candidates"] for each in (again, open_desk(sample_course(), "D1"))
    )
    for one, other in zip(imported, marked, strict=True):
        for module in one["modules"]:
            if (one["id"], module) not in {("C09", "teach"), ("C09", "safety")}:
                assert [one["modules"][module][key] for key in told] == [other["modules"][module][key] for key in told]
