"""A table that leaves the tool, before it is a file: every format is written from this one model."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Literal

from assess.records.audience import Audience

__all__ = ["Cell", "Column", "Kind", "TableFile", "TableSet", "plain_cell"]

Cell = str | int | Decimal | date | datetime | None
Kind = Literal["text", "whole", "number", "day", "instant"]
_NAME = re.compile(r"[a-z][a-z_]{2,29}[a-z]")
_IS: dict[Kind, type] = {"text": str, "whole": int, "number": Decimal, "day": date, "instant": datetime}


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name, what its cells are, what they mean in a sentence, and in which unit.

    text; whole: a whole number; number: a decimal number, exact; day: a date; instant: a moment in UTC.
    """

    name: str
    kind: Kind
    description: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class TableFile:
    """A table: a name that is fit for a file and a worksheet, a title, columns, rows; an empty cell is None.

    note: a sentence about the whole table, for instance why it has no rows. Raises ValueError for a name that is
    none, a column that stands twice, a row of another length, a cell of another kind than its column says.
    """

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        if not _NAME.fullmatch(self.name):
            raise ValueError(f"`{self.name}` is no name of a table")
        if not self.columns or len({column.name for column in self.columns}) != len(self.columns):
            raise ValueError(f"{self.name}: the columns need names of their own")
        for number, row in enumerate(self.rows, start=1):
            if len(row) != len(self.columns):
                raise ValueError(f"{self.name}: row {number} has {len(row)} cells, not {len(self.columns)}")
            for column, cell in zip(self.columns, row, strict=True):
                if not _fits(column.kind, cell):
                    raise ValueError(f"{self.name}: row {number}, {column.name}: {cell!r} is no {column.kind}")


@dataclass(frozen=True, slots=True)
class TableSet:
    """Tables that leave together: of which course, for whom, as of when by the record, what is left out.

    dated: UTC. left_out: sentences. Raises ValueError for two tables of one name and a `dated` without UTC.
    """

    course: str
    title: str
    audience: Audience
    promise: str
    dated: datetime
    tables: tuple[TableFile, ...]
    left_out: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        if len({table.name for table in self.tables}) != len(self.tables):
            raise ValueError("two tables have the same name")
        if self.dated.tzinfo is not UTC:
            raise ValueError("the date of the record is to be in UTC")

    def about(self) -> TableFile:
        """What these tables are, as a table of its own: for whom, as of when, what is left out."""
        said = Column("what", "text", "what is said"), Column("says", "text", "what it is")
        rows: list[tuple[Cell, ...]] = [
            ("course", self.course),
            ("title", self.title),
            ("audience", self.audience),
            ("promise", self.promise),
            ("record as of", plain_cell(self.dated)),
            *((f"table {table.name}", _with_note(table)) for table in self.tables),
            *(("left out", sentence) for sentence in self.left_out),
        ]
        return TableFile("about", "What these tables are", said, tuple(rows))

    def __iter__(self) -> Iterator[TableFile]:
        return iter(self.tables)


def _with_note(table: TableFile) -> str:
    return f"{table.title}. {table.note}" if table.note else table.title


def _fits(kind: Kind, cell: Cell) -> bool:
    if cell is None:
        return True
    if isinstance(cell, bool) or not isinstance(cell, _IS[kind]):
        return False
    if isinstance(cell, datetime):
        return kind == "instant" and cell.tzinfo is UTC
    return not isinstance(cell, Decimal) or cell.is_finite()


def plain_cell(cell: Cell) -> str:
    """A cell as text: numbers in digits, `2026-02-10` for a day, `2026-02-10T09:30:00.000Z` for an instant."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.strftime("%Y-%m-%dT%H:%M:%S.") + f"{cell.microsecond // 1000:03d}Z"
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    return cell.isoformat() if isinstance(cell, date) else str(cell)
