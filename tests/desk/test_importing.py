"""Scores kept elsewhere become locked ledgers: all checked before anything is written, the same table once."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from assess.desk.importing import ImportReport, import_device, import_scores
from assess.desk.score_table import read_score_table
from assess.records.errors import InputError, StorageTrouble
from assess.records.facts import Lock, Score
from tests.cli.commands import tree
from tests.courses import build_course, open_desk

HEADER = "day,task,order,candidate,assessor,criterion,score,status,rubric"
T1 = ("over-feet", "edging", "line", "speed-control")
SHEET = tuple(f"1,T1,1,C01,A1,{criterion},4,scored,r-2026.1" for criterion in T1)


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course")


def table(root: Path, rows: Sequence[str], header: str = HEADER, *, ends: str = "\n") -> Path:
    path = root.parent / "scores.csv"
    path.write_bytes((ends.join([header, *rows]) + ends).encode("utf-8"))
    return path


def imported(root: Path, path: Path, who: str | None = None) -> ImportReport:
    desk = open_desk(root, who)
    try:
        return import_scores(desk, path)
    finally:
        desk.close()


def problems(root: Path, path: Path) -> list[tuple[int, str]]:
    """Every problem's line and sentence; and nothing was written."""
    before = tree(root)
    with pytest.raises(InputError) as refused:
        imported(root, path)
    assert tree(root) == before
    assert all(problem.todo for problem in refused.value.problems)
    return [(problem.line, problem.what) for problem in refused.value.problems]


def test_a_sheet_is_written_whole_and_locked_as_imported_with_the_tables_digest(root: Path) -> None:
    path = table(root, SHEET)
    report = imported(root, path)
    device = import_device(read_score_table(path).sha256)
    assert report.written == (f"T1.C01.A1.{device}",) and report.unchanged == () and report.holes == ()
    assert report.statuses == {"scored": 4}
    (ledger,) = open_desk(root).shelf.sheet(("T1", "C01", "A1"))
    *scores, lock = (entry.fact for entry in ledger.entries)
    assert scores == [Score(criterion=criterion, level=4) for criterion in T1]
    assert isinstance(lock, Lock) and lock.origin == "imported" and lock.source == report.source
    assert report.source == f"sha256:{read_score_table(path).sha256}"


def test_the_same_table_again_changes_nothing(root: Path) -> None:
    path = table(root, [*SHEET, "1,T1,2,C02,A1,edging,,not-observed-fog,r-2026.1"])
    imported(root, path)
    before = tree(root)
    again = imported(root, path)
    assert again.written == () and len(again.unchanged) == 2
    assert tree(root) == before


def test_statuses_become_what_they_mean_and_none_of_them_a_number(root: Path) -> None:
    said = {
        "over-feet": "not-observed-wind",
        "edging": "absent-ill",
        "line": "ended-unsafe",
        "speed-control": "not-applicable",
    }
    imported(root, table(root, [f"1,T1,1,C01,A1,{name},,{status},r-2026.1" for name, status in said.items()]))
    marks = open_desk(root).folded("T1", "C01", "A1").marks
    assert [(mark.status, mark.why, mark.level) for mark in marks] == [
        ("not-observed", "wind", None),
        ("not-observed", "absent-ill", None),
        ("not-observed", "ended-unsafe", None),
        ("not-applicable", None, None),
    ]


def test_missing_evidence_and_missing_rows_are_holes_and_no_refusal(root: Path) -> None:
    report = imported(root, table(root, ["1,T1,1,C01,A1,edging,2,scored,r-2026.1"]))
    assert [sheet for sheet, _ in report.holes] == ["T1.C01.A1"] * 4
    assert [text for _, text in report.holes if text.startswith("edging")] == [
        "edging: this level needs an observation made in the task"
    ]
    assert open_desk(root).locked("T1", "C01", "A1")


def test_every_problem_is_told_at_once_with_its_line_and_nothing_is_written(root: Path) -> None:
    rows = [
        *SHEET,
        "1,T9,1,C01,A1,edging,4,scored,r-2026.1",
        "1,T1,1,C99,A9,edging,4,scored,r-2026.1",
        "1,T1,1,C01,A2,diagnosis,4,scored,r-2026.1",
        "1,T1,1,C02,A2,edging,7,scored,r-2026.1",
        "1,T1,1,C02,A2,line,3.5,scored,r-2026.1",
        "1,T1,1,C02,A2,over-feet,,perhaps,r-2026.1",
        "1,T1,1,C03,A2,edging,4,scored,r-2026.2",
        "1,T1,1,C03,A2,line,4,not-observed,r-2026.1",
        "1,T1,1,C01,A1,edging,5,scored,r-2026.1",
    ]
    assert problems(root, table(root, rows)) == [
        (6, "task `T9` is not known in this course"),
        (7, "assessor `A9` is not known in this course"),
        (7, "candidate `C99` is not known in this course"),
        (8, "`diagnosis` is no criterion of T1"),
        (9, "`7` is no level"),
        (10, "`3.5` is no level"),
        (11, "there is no status `perhaps`"),
        (12, "rubric `r-2026.2` is not in force for T1"),
        (13, "a score stands beside the status `not-observed`"),
        (14, "this score stands in line 3 already"),
    ]


def test_a_slot_that_is_not_allocated_is_refused(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", assessors=("A1", "A2", "A3"))
    course = root / "course.yaml"
    text = course.read_text().replace(
        "task: T1, order: 1, candidate: C01, assessors: [A1, A2, A3]",
        "task: T1, order: 1, candidate: C01, assessors: [A1, A2]",
    )
    course.write_text(text)
    row = "1,T1,1,C01,A3,edging,4,scored,r-2026.1"
    assert problems(root, table(root, [row])) == [(2, "A3 does not mark C01 in T1")]


def test_a_sheet_that_is_there_already_is_never_written_over(root: Path) -> None:
    imported(root, table(root, SHEET))
    other = [row.replace(",4,", ",5,") for row in SHEET]
    assert problems(root, table(root, other)) == [(2, "A1 has a sheet of C01 in T1 already")]


def test_a_sheet_somebody_is_marking_is_not_imported_over(root: Path) -> None:
    desk = open_desk(root, "A1")
    desk.slot("T1", "C01").score("edging", 3)
    desk.close()
    assert problems(root, table(root, SHEET)) == [(2, "A1 has a sheet of C01 in T1 already")]


def test_a_damaged_sheet_of_the_same_name_is_not_written_over(root: Path) -> None:
    path = table(root, SHEET)
    (name,) = imported(root, path).written
    file = root / "sheets" / f"{name}.yaml"
    file.write_bytes(file.read_bytes().replace(b'"level": 4', b'"level": 5', 1))
    assert problems(root, path) == [(2, "A1 has a sheet of C01 in T1 already")]


def test_day_and_order_that_differ_are_worth_a_look_and_may_be_left_out(root: Path) -> None:
    report = imported(root, table(root, ["2,T1,7,C01,A1,edging,4,scored,r-2026.1"]))
    assert [problem.what for problem in report.warnings] == [
        "day `2` is not the course's (1)",
        "order `7` is not the course's (1)",
    ]
    short = table(root, ["T1,C01,A2,edging,4,scored,r-2026.1"], "task,candidate,assessor,criterion,score,status,rubric")
    assert imported(root, short).warnings == ()


def test_a_column_nobody_reads_is_told(root: Path) -> None:
    report = imported(root, table(root, [f"{row},x" for row in SHEET], f"{HEADER},remarks"))
    assert [problem.what for problem in report.warnings] == ["the column `remarks` is not read"]


@pytest.mark.parametrize("ends", ["\r\n", "\n"])
def test_spreadsheet_habits_are_read_as_meant(root: Path, ends: str) -> None:
    path = table(root, ['1,T1,1,C01,A1,"edging", 4 ,scored,r-2026.1', "", ",,,,,,,,"], ends=ends)
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert imported(root, path).statuses == {"scored": 1}


@pytest.mark.parametrize(
    ("content", "line", "what"),
    [
        (b"", 1, "the table is empty"),
        (b"a;b;c\n1;2;3\n", 1, "the columns are not separated by commas"),
        (b"task,task\nT1,T1\n", 1, "the column `task` stands twice"),
        (HEADER.encode() + b"\n1,T1\n", 2, "this line has 2 cells, the first line 9"),
        (HEADER.encode() + b'\n1,"T1\n', 2, "a quote is not closed, or stands in the middle of a cell"),
        (HEADER.encode() + b"\n1,T\xfc1\n", 2, "the byte 0xfc is not UTF-8, another encoding is mixed in"),
        (HEADER.encode() + b"\n1,T\x001\n", 2, "this line holds NUL bytes"),
        ("day,task".encode("utf-16"), 1, "the file is written in UTF-16"),
        (HEADER.encode() + b"\n" + b"x" * 300 + b",,,,,,,,\n", 2, "a cell is longer than 200 characters"),
        (b"x" * (9 * 1024 * 1024), 0, "is larger than 8192 KiB"),
    ],
)
def test_a_file_that_is_no_score_table_is_told_in_a_sentence(root: Path, content: bytes, line: int, what: str) -> None:
    path = root.parent / "scores.csv"
    path.write_bytes(content)
    assert (line, what) in problems(root, path)


def test_a_cell_that_would_be_a_formula_is_read_without_its_guard(tmp_path: Path) -> None:
    path = tmp_path / "scores.csv"
    path.write_text(f"{HEADER}\n1,T1,1,'-1,A1,'edging,4,scored,r\n")
    (row,) = read_score_table(path).rows
    assert row["candidate"] == "-1" and row["criterion"] == "'edging"


def test_a_disk_that_gives_up_leaves_whole_sheets_and_the_same_import_finishes(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from assess.store import atomic

    path = table(
        root, [*SHEET, *(row.replace("C01", "C02") for row in SHEET), *(row.replace("C01", "C03") for row in SHEET)]
    )
    real, calls = atomic.create_file, []

    def failing(target: Path, data: bytes, **more: object) -> None:
        calls.append(target)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        real(target, data)

    monkeypatch.setattr(atomic, "create_file", failing)
    with pytest.raises(
        StorageTrouble, match=r"disk full.*1 of 3 sheets are there, each whole; run the same import again"
    ):
        imported(root, path)
    monkeypatch.undo()
    assert open_desk(root).folder.problems == () and len(list((root / "sheets").iterdir())) == 1
    report = imported(root, path)
    assert len(report.written) == 2 and len(report.unchanged) == 1


def test_device_ids_of_tables_are_devices_and_differ() -> None:
    from assess.records.ledger import Header

    ids = {import_device(f"{number:064x}") for number in range(500)}
    assert len(ids) == 500
    for device in ids:
        Header(kind="day", course="K", by="A1", date="2026-02-02", device=device, opened="2026-02-02T09:00:00.000Z")
