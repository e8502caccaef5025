"""`assess export` into a folder: shown first, written whole, never outside, never over something else unasked."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assess.desk.demo import sample_course
from tests.cli.commands import assess, assess_process, tree


@pytest.mark.parametrize("form", ["workbook", "tables", "calendar"])
def test_a_dry_run_shows_what_would_be_written_and_writes_nothing(form: str, tmp_path: Path) -> None:
    ran = assess("export", sample_course(), "--to", form, "--out", tmp_path / "out", "--as", "D1", "--dry-run")
    assert ran.code == 0 and ran.out.endswith("nothing was written\n")
    assert "for the assessors and directors of the course" in ran.out and not (tmp_path / "out").exists()


def test_files_are_written_into_the_folder_for_their_owner_alone_and_told_as_json(tmp_path: Path) -> None:
    out = tmp_path / "out"
    ran = assess("export", sample_course(), "--to", "tables", "--out", out, "--as", "D1", "--json")
    assert ran.code == 0 and ran.json["written"] is True
    assert {item["name"] for item in ran.json["files"]} == set(tree(out)) and len(tree(out)) == 9
    assert {path.stat().st_mode & 0o777 for path in out.iterdir()} == {0o600}
    again = assess("export", sample_course(), "--to", "tables", "--out", out, "--as", "D1")
    assert again.code == 0 and again.out.endswith("written: 0, as they were: 9\n")


@pytest.mark.parametrize("form", ["workbook", "tables", "parquet", "calendar"])
def test_the_bytes_are_the_same_in_another_process_with_other_clocks_and_another_order_of_sets(
    form: str, tmp_path: Path
) -> None:
    if form == "parquet":
        pytest.importorskip("pyarrow")
    words: list[str | Path] = ["export", sample_course(), "--to", form, "--as", "D1", "--out"]
    assert assess(*words, tmp_path / "here").code == 0
    assert assess_process(*words, tmp_path / "there", TZ="Pacific/Auckland", PYTHONHASHSEED="1").code == 0
    assert tree(tmp_path / "here") == tree(tmp_path / "there") != {}


def test_what_stands_there_stays_unless_it_is_to_be_replaced(tmp_path: Path) -> None:
    (tmp_path / "K-2026-01.ics").write_text("mine")
    words: list[str | Path] = ["export", sample_course(), "--to", "calendar", "--out", tmp_path, "--as", "D1"]
    ran = assess(*words)
    assert ran.code == 1 and "--replace" in ran.err and (tmp_path / "K-2026-01.ics").read_text() == "mine"
    assert assess(*words, "--replace").code == 0
    assert (tmp_path / "K-2026-01.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


def test_a_calendar_of_ones_own_has_a_name_of_its_own(tmp_path: Path) -> None:
    ran = assess("export", sample_course(), "--to", "calendar", "--about", "A2", "--out", tmp_path, "--as", "A2")
    assert ran.code == 0 and sorted(tree(tmp_path)) == ["K-2026-01-A2.ics"]


@pytest.mark.parametrize(
    "words",
    [
        ["--to", "workbook"],
        ["--to", "workbook", "--out", "x", "--raw"],
        ["--to", "csv", "--dry-run"],
        ["--to", "csv", "--replace"],
        ["--to", "json", "--raw"],
        ["--to", "calendar", "--out", "x", "--for", "research"],
        ["--to", "spreadsheet", "--out", "x"],
    ],
)
def test_words_that_do_not_go_together_are_a_sentence(words: list[str], tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    ran = assess("export", sample_course(), *words, "--as", "D1")
    assert ran.code == 2 and ran.out == "" and tree(tmp_path) == {}


def test_the_table_of_scores_is_as_it_was_and_raw_differs_only_where_something_is_guarded(tmp_path: Path) -> None:
    usual = assess("export", sample_course(), "--to", "csv", "--as", "D1")
    raw = assess("export", sample_course(), "--to", "csv", "--raw", "--as", "D1")
    assert usual.code == raw.code == 0 and usual.out == raw.out
    out = tmp_path / "out"
    assess("export", sample_course(), "--to", "tables", "--out", out, "--as", "D1")
    assert (out / "scores.csv").read_bytes().decode() == usual.out
    document = json.loads((out / "tables.json").read_text(encoding="utf-8"))
    assert [table["name"] for table in document["tables"]][:3] == ["scores", "sheets", "results"]
