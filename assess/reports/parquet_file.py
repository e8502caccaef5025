"""A table as Parquet: typed columns, instants in UTC, and in the file itself what they mean and for whom it is."""

from __future__ import annotations

import io
from decimal import Decimal
from typing import Any

from assess.reports.library import library
from assess.reports.table_file import TableFile, TableSet, plain_cell

__all__ = ["parquet_bytes"]

_INSTALL = "`pip install --upgrade 'assess[parquet]'` installs one that fits"


def parquet_bytes(table: TableFile, book: TableSet) -> bytes:
    """The table as a Parquet file: text, int64, double, date32, timestamps in ms of UTC; an empty cell is null.

    Raises LibraryTrouble when the library that writes it is not installed or cannot run here.
    """
    with library("pyarrow", "a Parquet file", install=_INSTALL, instead="`--to tables` writes the same as CSV"):
        import pyarrow as pa
        from pyarrow import parquet
    kinds = {
        "text": pa.string(), "whole": pa.int64(), "number": pa.float64(), "day": pa.date32(),
        "instant": pa.timestamp("ms", tz="UTC"),
    }  # fmt: skip
    fields = [
        pa.field(column.name, kinds[column.kind], metadata=_told(description=column.description, unit=column.unit))
        for column in table.columns
    ]
    about = _told(course=book.course, title=table.title, note=table.note, audience=book.audience,
                  promise=book.promise, dated=plain_cell(book.dated))  # fmt: skip
    columns = [
        pa.array([_value(row[place]) for row in table.rows], type=kind.type) for place, kind in enumerate(fields)
    ]
    into = io.BytesIO()
    parquet.write_table(pa.Table.from_arrays(columns, schema=pa.schema(fields, metadata=about)), into)
    return into.getvalue()


def _told(**said: str) -> dict[str, str]:
    return {key: text for key, text in said.items() if text}


def _value(cell: Any) -> Any:
    return float(cell) if isinstance(cell, Decimal) else cell
