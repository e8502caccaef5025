"""The tables of a course: each audience gets what is meant for it, each person what they may read."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from assess.desk.course_files import Form, course_files
from assess.desk.course_tables import course_tables
from assess.desk.demo import sample_course
from assess.desk.exporting import export_scores
from assess.desk.importing import import_scores
from assess.desk.outcomes import results_json
from assess.desk.outgoing import write_out
from assess.records.audience import Audience
from assess.records.errors import Refusal, UsageError
from assess.reports.csv_file import csv_bytes
from assess.reports.table_file import TableFile, TableSet, plain_cell
from tests.courses import build_course, open_desk, release

NAMES = ("Ada Quillfeather", "Bo Thistledown")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", candidates=2, names=NAMES)


def fill(root: Path, who: str, device: str, level: int, *, lock: bool = True, note: str = "") -> None:
    desk = open_desk(root, who, device=device)
    for task in ("T1", "T4"):
        for slot in desk.mine(task):
            sheet = desk.slot(task, slot.candidate)
            for criterion in sheet.criteria:
                sheet.score(criterion, level)
            if note:
                sheet.note(note, (sheet.criteria[0],), direction="for")
            if lock:
                sheet.lock()
    assert desk.close()


def to_candidates(root: Path) -> None:
    course = root / "course.yaml"
    course.write_text(course.read_text(encoding="utf-8").replace("to: assessors", "to: candidates"), encoding="utf-8")


def named(book: TableSet, name: str) -> TableFile:
    return next(table for table in book if table.name == name)


def column(table: TableFile, name: str) -> list[Any]:
    place = [each.name for each in table.columns].index(name)
    return [row[place] for row in table.rows]


def test_every_row_says_for_whom_it_is_and_no_table_holds_a_name(root: Path) -> None:
    fill(root, "A1", "d7h2k", 4)
    fill(root, "A2", "a2a2a", 5)
    audiences: tuple[Audience, ...] = ("panel", "research")
    for audience in audiences:
        book = course_tables(open_desk(root, "D1"), audience)
        for table in book:
            assert set(column(table, "audience")) <= {audience}
            content = csv_bytes(table).decode()
            assert not any(name in content for name in (*NAMES, "Marker A1", "Director One", "red jacket"))


def test_the_scores_are_those_of_the_export_byte_for_byte_and_import_reads_them_back(
    root: Path, tmp_path: Path
) -> None:
    fill(root, "A1", "d7h2k", 4)
    fill(root, "A2", "a2a2a", 5)
    desk = open_desk(root, "D1")
    out = tmp_path / "out"
    assert write_out(course_files(desk, "tables", out)) == 9
    assert (out / "scores.csv").read_bytes() == export_scores(desk).as_csv().encode()
    copy = build_course(tmp_path / "copy", candidates=2)
    import_scores(open_desk(copy, "D1"), out / "scores.csv")
    assert export_scores(open_desk(copy, "D1")) == export_scores(desk)


def test_the_results_are_those_of_the_results_command() -> None:
    desk = open_desk(sample_course(), "D1")
    told = named(course_tables(desk), "results")
    wanted = [
        (each["id"], module, one["outcome"], one["mean_exact"], one["n_sheets"], one["band"])
        for each in results_json(desk.outcomes())["candidates"]
        for module, one in each["modules"].items()
    ]
    bands = [None if band is None else str(band) for band in column(told, "band")]
    found = zip(*(column(told, key) for key in ("candidate", "module", "outcome", "mean_exact", "sheets")), bands,
                strict=True)  # fmt: skip
    assert list(found) == wanted
    assert column(told, "mean")[0] == Decimal("4.2917")


def test_a_sheet_counts_its_criteria_and_has_its_value(root: Path) -> None:
    desk = open_desk(root, "A1")
    sheet = desk.slot("T1", "C01")
    first, second, *rest = sheet.criteria
    sheet.score(first, 4)
    sheet.score(second, 5)
    for criterion in rest:
        sheet.not_observed(criterion, "fog")
    sheet.lock()
    (row,) = named(course_tables(desk), "sheets").rows
    assert row[:3] == ("T1", "C01", "A1") and row[4:7] == (2, len(rest), 0)
    assert plain_cell(row[7]).endswith("Z")


def test_nothing_of_an_open_sheet_is_in_any_table(root: Path) -> None:
    fill(root, "A1", "d7h2k", 4, note="a secret of A1")
    fill(root, "A2", "a2a2a", 2, lock=False, note="a secret of A2")
    for who in ("A1", "A2", "D1", None):
        book = course_tables(open_desk(root, who))
        text = "".join(csv_bytes(table).decode() for table in (*book, book.about()))
        assert "secret of A2" not in text
        assert ("secret of A1" in text) == (who == "A1")
        assert set(column(named(book, "scores"), "assessor")) == ({"A1"} if who == "A1" else set())
        assert named(book, "agreement").rows == () and "Nothing can be told yet" in named(book, "agreement").note
        assert str(root) not in text


def test_what_was_seen_is_for_the_panel_alone(root: Path) -> None:
    fill(root, "A1", "d7h2k", 4, note="edges late")
    fill(root, "A2", "a2a2a", 5)
    assert set(column(named(course_tables(open_desk(root, "D1")), "seen"), "text")) == {"edges late"}
    research = course_tables(open_desk(root, "D1"), "research")
    assert [table.name for table in research] == ["scores", "sheets", "results", "agreement", "pairs", "severity"]
    assert set(column(named(research, "results"), "reasons")) == {None}
    assert "edges late" not in "".join(csv_bytes(table).decode() for table in research)
    with pytest.raises(Refusal, match="only a director"):
        course_tables(open_desk(root, "A1"), "research")


def test_a_candidate_gets_their_own_rows_once_released_and_markers_by_number(root: Path) -> None:
    fill(root, "A1", "d7h2k", 4)
    fill(root, "A2", "a2a2a", 5)
    release(root)
    before = course_tables(open_desk(root, "D1"), "candidate", "C02")
    assert [table.name for table in before] == ["scores", "results"]
    assert named(before, "results").rows == () and named(before, "scores").rows == ()
    to_candidates(root)
    book = course_tables(open_desk(root, "D1"), "candidate", "C02")
    text = "".join(csv_bytes(table).decode() for table in (*book, book.about()))
    assert (
        set(column(named(book, "scores"), "candidate")) == {"C02"} == set(column(named(book, "results"), "candidate"))
    )
    assert set(column(named(book, "scores"), "assessor")) == {"marker-1", "marker-2"}
    assert not any(word in text for word in ("C01", "A1", "A2", *NAMES))


def test_it_is_dated_by_the_newest_lock_it_rests_on_else_by_the_first_day(root: Path) -> None:
    assert course_tables(open_desk(root, "D1")).dated.isoformat() == "2026-02-02T00:00:00+00:00"
    fill(root, "A1", "d7h2k", 4)
    fill(root, "A2", "a2a2a", 5)
    book = course_tables(open_desk(root, "D1"))
    assert book.dated == max(column(named(book, "sheets"), "locked_at"))


@pytest.mark.parametrize("form", ["workbook", "tables", "parquet", "calendar"])
def test_the_same_course_gives_the_same_files_wherever_it_lies(form: Form, tmp_path: Path) -> None:
    if form == "parquet":
        pytest.importorskip("pyarrow")
    shutil.copytree(sample_course(), tmp_path / "elsewhere")
    files = [
        [(item.name, item.content) for item in course_files(open_desk(place, "D1"), form, tmp_path / "out").files]
        for place in (sample_course(), tmp_path / "elsewhere")
    ]
    assert files[0] == files[1]


def test_no_folder_inside_the_course_is_written_into(root: Path) -> None:
    for folder in (root, root / "exports", root / "sheets" / ".." / "x"):
        with pytest.raises(Refusal, match="inside the course"):
            course_files(open_desk(root, "D1"), "workbook", folder)


def test_it_is_asked_for_a_candidate_the_course_has(root: Path) -> None:
    asked: tuple[tuple[Audience, str | None], ...] = (("candidate", None), ("candidate", "C99"), ("panel", "C01"))
    for audience, about in asked:
        with pytest.raises(UsageError):
            course_tables(open_desk(root, "D1"), audience, about)
