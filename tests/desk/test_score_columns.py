"""Score tables for statistics: every row read as written, every wrong row told with its line."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.desk import score_columns
from assess.desk.score_columns import ScoreColumns, read_columns
from assess.records.errors import InputError

HEAD = "candidate,assessor,score,task,criterion\n"


def table(folder: Path, text: str | bytes) -> Path:
    path = folder / "scores.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return path


def read(folder: Path, text: str | bytes) -> ScoreColumns:
    return read_columns(table(folder, text))


def told(folder: Path, text: str | bytes) -> list[str]:
    with pytest.raises(InputError) as trouble:
        read(folder, text)
    assert all(problem.file == str(folder / "scores.csv") for problem in trouble.value.problems)
    return [f"{problem.line}: {problem.what}" for problem in trouble.value.problems]


def test_a_row_is_a_score_and_an_empty_one_is_missing(tmp_path: Path) -> None:
    found = read(tmp_path, HEAD + "C1,A1,4,T1,edging\nC1,A2,,T1,edging\n C2 , A1 , 3.5 ,T1,line\n")
    assert found.candidate == ["C1", "C1", "C2"] and found.assessor == ["A1", "A2", "A1"]
    assert found.score[0] == 4 and math.isnan(found.score[1]) and found.score[2] == 3.5
    assert found.task == ["T1"] * 3 and found.criterion == ["edging", "edging", "line"]
    assert list(found.lines) == [2, 3, 4] and found.unknown == ()


def test_task_and_criterion_may_be_missing_the_columns_stand_in_any_order_and_others_are_not_read(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, "score,note,order,assessor,candidate\n4,x,1,A1,C1\n")
    assert (found.candidate, found.assessor, list(found.score)) == (["C1"], ["A1"], [4.0])
    assert found.task is None and found.criterion is None and found.unknown == ("note",)


def test_a_column_in_which_nothing_stands_is_as_good_as_none(tmp_path: Path) -> None:
    assert read(tmp_path, HEAD + "C1,A1,4,,\nC2,A1,4,,\n").task is None


@pytest.mark.parametrize(
    ("rows", "wrong"),
    [
        ("C1,A1,four,T1,e\n", ["2: the score `four` is no number"]),
        ('C1,A1,"3,5",T1,e\n', ["2: the score `3,5` is written with a comma"]),
        ("C1,A1,nan,T1,e\nC1,A2,inf,T1,e\n", ["2: the score `nan` is no number", "3: the score `inf` is no number"]),
        ("C1,A1,1e999,T1,e\n", ["2: the score `1e999` is no number"]),
        ("C1,A1,1_0,T1,e\nC1,A2,４,T1,e\n", ["2: the score `1_0` is no number", "3: the score `４` is no number"]),
        ("C1,A1,{x},T1,e\n", ["2: the score `{x}` is no number"]),
        (",A1,4,T1,e\nC1, ,4,T1,e\n", ["2: the candidate is missing", "3: the assessor is missing"]),
        ("C1,A1,4,T1\n", ["2: this line has 4 cells, the first line 5"]),
        ("C1,A1,4,T1,e,f\n", ["2: this line has 6 cells, the first line 5"]),
        ("C1,A1,4,T1,e\nC2,A1,4,,e\n", ["3: the task is missing here and given elsewhere"]),
        (f"{'C' * 65},A1,4,T1,e\n", ["2: the candidate is longer than 64 characters"]),
        ('C1,A1,4,T1,e\n"C2,A1,4,T1,e\n', ["3: a quote is not closed, or stands in the middle of a cell"]),
        ("", ["1: the table has no row below its first line"]),
    ],
)
def test_what_is_no_row_is_told_with_its_line(tmp_path: Path, rows: str, wrong: list[str]) -> None:
    assert told(tmp_path, HEAD + rows) == wrong


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("", "1: the column `assessor` is missing"),
        ("candidate;assessor;score\n", "1: the columns are not separated by commas"),
        ("candidate,assessor\nC1,A1\n", "1: the column `score` is missing"),
        ("candidate,assessor,score,score\nC1,A1,4,4\n", "1: the column `score` stands twice"),
        ("candidate,assessor,score\n".encode("utf-16"), "1: the file is written in UTF-16"),
        (
            b"candidate,assessor,score\nC1,A1,4\nC\xe9,A1,4\n",
            "3: the byte 0xe9 is not UTF-8, another encoding is mixed in",
        ),
        (b"candidate,assessor,score\nC1,A\0,4\n", "2: this line holds NUL bytes"),
    ],
)  # fmt: skip
def test_what_is_no_table_is_told(tmp_path: Path, text: str | bytes, wrong: str) -> None:
    assert wrong in told(tmp_path, text)


def test_lines_are_counted_as_an_editor_counts_them(tmp_path: Path) -> None:
    text = "\ufeff" + HEAD.replace("\n", "\r\n") + '\r\n"C\r\n1",A1,4,T1,e\r\n  ,,,,\r\nC2,A1,x,T1,e\r\n'
    assert told(tmp_path, text) == ["6: the score `x` is no number"]
    found = read(tmp_path, text.replace(",x,", ",5,"))
    assert list(found.lines) == [3, 6] and found.candidate == ["C\r\n1", "C2"]


def test_a_cell_guarded_against_spreadsheets_is_read_as_it_was(tmp_path: Path) -> None:
    found = read(tmp_path, HEAD + "'-1,'=A1,'-2,T1,'x\n")
    assert (found.candidate, found.assessor, list(found.score), found.criterion) == (["-1"], ["=A1"], [-2.0], ["'x"])


def test_at_most_fifty_lines_are_told(tmp_path: Path) -> None:
    assert len(told(tmp_path, HEAD + "C1,A1,x,T1,e\n" * 5000)) == 50


def test_a_table_that_is_too_large_is_not_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="larger than"):
        read_columns(table(tmp_path, HEAD * 100), largest=1000)


names = st.text(st.characters(categories=["L", "N", "P", "Zs"], max_codepoint=0x2FFF), min_size=1, max_size=6)
ids = names.map(str.strip).filter(lambda name: name and not name.startswith("'"))
numbers = st.one_of(st.none(), st.integers(-9, 99), st.floats(-1e6, 1e6, allow_nan=False))


@given(st.lists(st.tuples(ids, ids, numbers, ids), min_size=1, max_size=9), st.sampled_from(["\n", "\r\n"]))
def test_whatever_a_csv_writer_writes_is_read_as_it_was(rows, end: str) -> None:
    into = io.StringIO(newline="")
    writer = csv.writer(into, lineterminator=end)
    writer.writerow(["candidate", "assessor", "score", "task"])
    writer.writerows(rows)
    reading = score_columns._Reading("t")
    reader = csv.reader(io.StringIO(into.getvalue(), newline=""), strict=True)
    reading.header(next(reader))
    reading.rows(reader)
    found = reading.columns()
    assert list(zip(found.candidate, found.assessor, found.task or [], strict=True)) == [
        (candidate, assessor, task) for candidate, assessor, _, task in rows
    ]
    assert [None if math.isnan(score) else score for score in found.score] == [
        None if score is None else float(score) for _, _, score, _ in rows
    ]


def test_many_blocks_of_rows_are_read_as_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = HEAD + "".join(f"C{n},A1,{n % 5},T1,e\n" + ("\n" if n % 7 == 0 else "") for n in range(100))
    whole = read(tmp_path, text)
    monkeypatch.setattr(score_columns, "_AT_ONCE", 3)
    assert read(tmp_path, text) == whole
