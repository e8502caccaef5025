"""Parquet: equal after reading, typed, in UTC; what it means and for whom it is stands in the file."""

from __future__ import annotations

import io

import pytest

from assess.reports.parquet_file import parquet_bytes
from tests.reports.hostile import hostile_set

pytest.importorskip("pyarrow")


def test_it_is_equal_after_reading_and_typed() -> None:
    from pyarrow import parquet

    made = hostile_set()
    for one in made:
        read = parquet.read_table(io.BytesIO(parquet_bytes(one, made)))
        assert [str(field.type) for field in read.schema] == [
            "string", "int64", "double", "date32[day]", "timestamp[ms, tz=UTC]",
        ]  # fmt: skip
        assert [tuple(row.values()) for row in read.to_pylist()] == [
            (words, count, float(str(value)), day, at) for words, count, value, day, at in one.rows
        ]
        about = {key.decode(): value.decode() for key, value in read.schema.metadata.items()}
        assert (about["audience"], about["course"], about["dated"]) == ("panel", "K-TEST", "2027-03-28T08:15:00.000Z")
        assert read.schema.field("value").metadata == {b"description": b"how much", b"unit": b"level"}


def test_the_same_table_gives_the_same_bytes() -> None:
    made = hostile_set()
    assert parquet_bytes(made.tables[0], made) == parquet_bytes(hostile_set().tables[0], hostile_set())
