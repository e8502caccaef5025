"""The one table every format is written from: what it refuses, and what CSV and the metadata make of it."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import frictionless
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.reports.csv_file import csv_bytes, guarded, unguarded
from assess.reports.parquet_file import parquet_bytes
from assess.reports.table_file import Column, TableFile, TableSet, plain_cell
from assess.reports.table_json import data_package_bytes, tables_bytes
from tests.reports.hostile import COLUMNS, hostile_set

TRIGGERS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠")


def table(*rows: tuple[Any, ...], name: str = "things") -> TableFile:
    return TableFile(name, "Things", COLUMNS, rows)


@pytest.mark.parametrize(
    ("wrong", "row"),
    [
        ("has 1 cells, not 5", ("x",)),
        ("is no whole", ("x", True, None, None, None)),
        ("is no whole", ("x", Decimal(1), None, None, None)),
        ("is no number", ("x", 1, 1.5, None, None)),
        ("is no number", ("x", 1, Decimal("NaN"), None, None)),
        ("is no number", ("x", 1, Decimal("Infinity"), None, None)),
        ("is no day", ("x", 1, None, datetime(2027, 1, 1, tzinfo=UTC), None)),
        ("is no instant", ("x", 1, None, None, datetime(2027, 1, 1))),  # noqa: DTZ001
        ("is no instant", ("x", 1, None, None, date(2027, 1, 1))),
        ("is no text", (5, 1, None, None, None)),
    ],
)
def test_a_cell_of_another_kind_than_its_column_is_refused(wrong: str, row: tuple[Any, ...]) -> None:
    with pytest.raises(ValueError, match=wrong):
        table(row)


@pytest.mark.parametrize("name", ["", "ab", "T1", "a b", "a/b", "../x", "x" * 32, "[x]", "results:", "_abc", "abc_"])
def test_a_name_is_fit_for_a_file_and_a_worksheet(name: str) -> None:
    with pytest.raises(ValueError, match="no name of a table"):
        table(name=name)


def test_a_column_stands_once_and_so_does_a_table() -> None:
    twice = Column("a", "text", "one"), Column("a", "text", "two")
    with pytest.raises(ValueError, match="names of their own"):
        TableFile("things", "Things", twice, ())
    with pytest.raises(ValueError, match="same name"):
        TableSet("K", "T", "panel", "x", datetime(2027, 1, 1, tzinfo=UTC), (table(), table()))


@pytest.mark.parametrize("sign", TRIGGERS)
@pytest.mark.parametrize("before", ["", " ", "   ", "\u3000", "\u00a0"])
def test_no_text_begins_like_a_formula(sign: str, before: str) -> None:
    shown = guarded(f"{before}{sign}1+1")
    assert shown == f"'{before}{sign}1+1" and unguarded(shown) == f"{before}{sign}1+1"


@given(st.text(st.sampled_from("='+-@ \t\r\n\0＝x1\u3000"), max_size=8) | st.text(max_size=20))
def test_a_guarded_text_comes_back_as_it_was(text: str) -> None:
    shown = guarded(text)
    assert unguarded(shown) == text
    assert not shown.lstrip(" \u3000\u00a0").startswith(TRIGGERS)


@given(st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\0")), min_size=1))
def test_a_csv_read_back_gives_every_text(texts: list[str]) -> None:
    made = table(*((text, number, Decimal("-1.50"), None, None) for number, text in enumerate(texts)))
    for raw in (False, True):
        content = csv_bytes(made, raw=raw)
        header, *rows = csv.reader(io.StringIO(content.decode("utf-8"), newline=""), strict=True)
        assert header == [column.name for column in COLUMNS]
        assert [row[0] if raw else unguarded(row[0]) for row in rows] == texts
        assert {row[2] for row in rows} == {"-1.50"}


def test_a_csv_ends_its_lines_with_cr_lf_and_quotes_what_needs_it() -> None:
    moment = datetime(2027, 3, 28, 8, 15, 0, 250_000, tzinfo=UTC)
    made = table(('a "b", c', -1, Decimal("1E+2"), date(2027, 3, 28), moment), ("d\ne", None, None, None, None))
    assert csv_bytes(made) == (
        b'words,count,value,on,at\r\n"a ""b"", c",-1,100,2027-03-28,2027-03-28T08:15:00.250Z\r\n"d\ne",,,,\r\n'
    )


def test_the_document_has_numbers_as_numbers_and_nothing_for_nothing() -> None:
    moment = datetime(2027, 3, 28, 8, 15, tzinfo=UTC)
    made = TableSet("K", "T", "research", "ids only", moment, (table(("x", 3, Decimal("2.50"), None, moment)),), ("y",))
    document = json.loads(tables_bytes(made))
    assert document["tables"][0]["rows"] == [["x", 3, 2.5, None, "2027-03-28T08:15:00.000Z"]]
    assert (document["audience"], document["left_out"], document["dated"]) == ("research", ["y"], plain_cell(moment))


def test_the_metadata_is_what_a_reader_of_such_packages_takes_and_it_finds_a_wrong_cell(tmp_path: Path) -> None:
    made = hostile_set()
    contents = {f"{one.name}.csv": csv_bytes(one) for one in made}
    (tmp_path / "datapackage.json").write_bytes(data_package_bytes(made, contents))
    for name, content in contents.items():
        (tmp_path / name).write_bytes(content)
    assert validity(tmp_path) == (True, [])
    path = tmp_path / "notes.csv"
    path.write_bytes(contents["notes.csv"].replace(b",7,", b",seven,", 1))
    valid, found = validity(tmp_path)
    assert not valid and "type-error" in found and "hash-count" in found


def test_a_package_of_parquet_files_is_taken_too_and_says_nothing_of_text(tmp_path: Path) -> None:
    pytest.importorskip("pyarrow")
    made = hostile_set()
    contents = {f"{one.name}.parquet": parquet_bytes(one, made) for one in made}
    (tmp_path / "datapackage.json").write_bytes(data_package_bytes(made, contents))
    for name, content in contents.items():
        (tmp_path / name).write_bytes(content)
    assert validity(tmp_path) == (True, [])
    for resource in json.loads((tmp_path / "datapackage.json").read_text("utf-8"))["resources"]:
        assert (resource["profile"], resource["format"]) == ("data-resource", "parquet")
        assert not {"encoding", "dialect", "bytes", "hash"} & set(resource)
        assert set(resource["schema"]) == {"fields"} and not any(
            "format" in one for one in resource["schema"]["fields"]
        )


def validity(folder: Path) -> tuple[bool, list[str]]:
    report = frictionless.Package(str(folder / "datapackage.json")).validate()
    return report.valid, [kind for (kind,) in report.flatten(["type"])]


def test_the_metadata_names_each_file_with_its_bytes_and_nothing_else() -> None:
    made = hostile_set()
    contents = {"notes.csv": csv_bytes(made.tables[0]), "other.csv": b"x"}
    (found,) = json.loads(data_package_bytes(made, contents))["resources"]
    assert found["path"] == "notes.csv" and found["bytes"] == len(contents["notes.csv"])
    assert [one["name"] for one in found["schema"]["fields"]] == [column.name for column in COLUMNS]
