"""Tables as JSON: the whole set in one document, and the metadata that stands beside table files."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assess.reports.table_file import Cell, Column, Kind, TableFile, TableSet, plain_cell

__all__ = ["data_package_bytes", "tables_bytes", "tables_document"]

# Names of the Table Schema specification (Frictionless Data, specs.frictionlessdata.io/table-schema).
_TYPES: dict[Kind, str] = {
    "text": "string", "whole": "integer", "number": "number", "day": "date", "instant": "datetime",
}  # fmt: skip
_MEDIA = {"csv": "text/csv", "parquet": "application/vnd.apache.parquet"}


def tables_document(book: TableSet) -> dict[str, Any]:
    """Every table with its columns and rows: numbers as numbers, days and instants as text, null for an empty cell."""
    return {
        "course": book.course,
        "title": book.title,
        "audience": book.audience,
        "promise": book.promise,
        "dated": plain_cell(book.dated),
        "left_out": list(book.left_out),
        "tables": [
            {
                "name": table.name,
                "title": table.title,
                "note": table.note,
                "columns": [
                    {"name": column.name, "kind": column.kind, "description": column.description, "unit": column.unit}
                    for column in table.columns
                ],
                "rows": [[_value(cell) for cell in row] for row in table.rows],
            }
            for table in book
        ],
    }


def tables_bytes(book: TableSet) -> bytes:
    """The document as bytes, in UTF-8."""
    return _bytes(tables_document(book))


def data_package_bytes(book: TableSet, files: Mapping[str, bytes]) -> bytes:
    """`datapackage.json` for these files: what each column means, so that a program can read them without guessing.

    files: `scores.csv` and so on, each named after its table; anything else is left out.
    """
    found = [
        _resource(table, name, files[name])
        for table in book
        for name in (f"{table.name}.csv", f"{table.name}.parquet")
        if name in files
    ]
    return _bytes(
        {
            "profile": "data-package",
            "name": _package_name(book.course),
            "title": book.title,
            "description": " ".join((book.promise.capitalize() + ".", *book.left_out)),
            "created": plain_cell(book.dated),
            "audience": book.audience,
            "course": book.course,
            "resources": found,
        }
    )


def _package_name(course: str) -> str:
    """The name as the specification wants it: lower case, digits, `.`, `-` and `_`."""
    return "".join(char if char.isascii() and (char.isalnum() or char in "._-") else "-" for char in course.lower())


def _resource(table: TableFile, path: str, raw: bytes) -> dict[str, Any]:
    form = path.rpartition(".")[2]
    fields = [_field(column, text=form == "csv") for column in table.columns]
    described: dict[str, Any] = {
        "profile": "tabular-data-resource" if form == "csv" else "data-resource",
        "name": table.name,
        "path": path,
        "title": table.title,
        "description": table.note or table.title,
        "format": form,
        "mediatype": _MEDIA[form],
    }
    if form != "csv":
        # A tabular resource is a text file; readers count no bytes of any other and would call it damaged.
        return {**described, "schema": {"fields": fields}}
    return {
        **described,
        "bytes": len(raw),
        "hash": f"sha256:{hashlib.sha256(raw).hexdigest()}",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "doubleQuote": True, "lineTerminator": "\r\n"},
        "schema": {"fields": fields, "missingValues": [""]},
    }


def _field(column: Column, *, text: bool) -> dict[str, Any]:
    """text: the column stands in a text file, where an instant has a way of writing."""
    found: dict[str, Any] = {"name": column.name, "type": _TYPES[column.kind], "description": column.description}
    if column.kind == "instant" and text:
        found["format"] = "%Y-%m-%dT%H:%M:%S.%fZ"
    if column.unit:
        found["unit"] = column.unit
    return found


def _value(cell: Cell) -> str | int | float | None:
    if cell is None or isinstance(cell, str | int):
        return cell
    return float(cell) if isinstance(cell, Decimal) else plain_cell(cell)


def _bytes(document: dict[str, Any]) -> bytes:
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode("utf-8", "replace")
