"""Score tables as CSV: rows read with their lines, and rows written so that they read back the same."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assess.records.audience import Audience
from assess.records.errors import InputError, Problem
from assess.reports.csv_file import csv_lines, guarded, unguarded

__all__ = ["AUDIENCE", "COLUMNS", "ScoreTable", "TableRow", "csv_text", "read_score_table"]

COLUMNS = ("day", "task", "order", "candidate", "assessor", "criterion", "score", "status", "rubric")
"""What a score table holds. `day` and `order` may be missing; further columns are not read."""
AUDIENCE = "audience"
"""The last column of a table that was exported: for whom. It is nothing a table is read for."""

_OPTIONAL = frozenset({"day", "order"})
_LARGEST = 8 * 1024 * 1024
_LONGEST_CELL = 200
_MOST_LINES_NAMED = 50


@dataclass(frozen=True)
class TableRow:
    """One row: the line it begins on, and its cells by column, each without spaces around it."""

    line: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


@dataclass(frozen=True)
class ScoreTable:
    """A table as read: its rows, the SHA-256 of its bytes in hex, and columns nobody reads."""

    shown: str
    sha256: str
    rows: tuple[TableRow, ...]
    unknown_columns: tuple[str, ...]


def read_score_table(path: Path) -> ScoreTable:
    """The score table at `path`. Raises InputError with every line that is no row of it."""
    import hashlib

    from assess.store.reading import whole_file

    shown = str(path)
    raw = whole_file(path, shown, _LARGEST)
    reader = csv.reader(io.StringIO(_text(raw, shown), newline=""), strict=True)
    lines, problems = _lines(reader, shown)
    if not lines and not problems:
        problems.append(
            Problem(shown, 1, "the table is empty", f"the first line names the columns: {','.join(COLUMNS)}")
        )
    if problems:
        raise InputError(problems)
    header = [name.strip() for name in lines[0][1]]
    problems += _header_problems(header, shown)
    rows = tuple(_row(header, line, cells, shown, problems) for line, cells in lines[1:])
    if problems:
        raise InputError(problems)
    unknown = tuple(name for name in header if name not in (*COLUMNS, AUDIENCE))
    return ScoreTable(shown, hashlib.sha256(raw).hexdigest(), rows, unknown)


def _text(raw: bytes, shown: str) -> str:
    """The bytes as text; a byte order mark of UTF-8 is taken off. Raises InputError."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError([Problem(shown, 1, "the file is written in UTF-16", "save it as CSV in UTF-8")])
    raw = raw.removeprefix(b"\xef\xbb\xbf")
    problems = []
    for number, line in enumerate(raw.split(b"\n"), start=1):
        if b"\0" in line:
            problems.append(Problem(shown, number, "this line holds NUL bytes", "save it as CSV in UTF-8"))
            continue
        try:
            line.decode("utf-8")
        except UnicodeDecodeError as trouble:
            what = f"the byte {line[trouble.start]:#04x} is not UTF-8, another encoding is mixed in"
            problems.append(Problem(shown, number, what, "save it as CSV in UTF-8"))
    if problems:
        raise InputError(problems[:_MOST_LINES_NAMED])
    return raw.decode("utf-8")


def _lines(reader: Any, shown: str) -> tuple[list[tuple[int, list[str]]], list[Problem]]:
    """Every line with a cell in it, with the number of the line it begins on."""
    lines: list[tuple[int, list[str]]] = []
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                lines.append((begins, cells))
            begins = reader.line_num + 1
    except csv.Error:
        what = "a quote is not closed, or stands in the middle of a cell"
        return lines, [Problem(shown, begins, what, 'write a cell that holds a quote as "...""..."')]
    return lines, []


def _header_problems(header: list[str], shown: str) -> list[Problem]:
    problems = []
    if len(header) == 1 and any(sign in header[0] for sign in ";\t|"):
        return [Problem(shown, 1, "the columns are not separated by commas", "save it as CSV with commas")]
    for name in COLUMNS:
        if name not in header and name not in _OPTIONAL:
            problems.append(Problem(shown, 1, f"the column `{name}` is missing", "add it"))
        elif header.count(name) > 1:
            problems.append(Problem(shown, 1, f"the column `{name}` stands twice", "keep one of them"))
    return problems


def _row(header: list[str], line: int, cells: list[str], shown: str, problems: list[Problem]) -> TableRow:
    if len(cells) != len(header):
        what = f"this line has {len(cells)} cells, the first line {len(header)}"
        problems.append(Problem(shown, line, what, "look for a missing comma, or a comma too many"))
    if any(len(cell) > _LONGEST_CELL for cell in cells):
        what = f"a cell is longer than {_LONGEST_CELL} characters"
        problems.append(Problem(shown, line, what, "a score table holds ids, levels and words only"))
    return TableRow(line, {name: unguarded(cell.strip()) for name, cell in zip(header, cells, strict=False)})


def csv_text(rows: Iterable[Mapping[str, str]], audience: Audience, *, raw: bool = False) -> str:
    """Rows as a CSV text (RFC 4180: CRLF line ends), each with the audience it is for.

    A cell a spreadsheet would take for a formula gets a `'`, unless `raw` is wanted, for programs.
    """
    shown = (lambda cell: cell) if raw else guarded
    return csv_lines((*COLUMNS, AUDIENCE), ([*(shown(row[column]) for column in COLUMNS), audience] for row in rows))
