"""Tables written as CSV, read line by line: every cell with the line it stands in, every misfit a sentence."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assess.records.errors import InputError, Problem

__all__ = ["LARGEST_TABLE", "MOST_ROWS", "CsvRow", "CsvTable", "read_table", "told"]

LARGEST_TABLE = 1024 * 1024
MOST_ROWS = 20_000
_LONGEST_CELL = 200
_MOST_NAMED = 50
# A spreadsheet takes a cell that begins with one of these for a formula. Source: OWASP, "CSV Injection".
_FORMULA = ("=", "@", "\t", "\r", "＝", "＋", "－", "＠")
_SIGNS = ("+", "-")


@dataclass(frozen=True, slots=True)
class CsvRow:
    """One row: the line it begins on, and its cells by column, without spaces around them."""

    line: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


@dataclass(frozen=True, slots=True)
class CsvTable:
    """A table: its name for messages, the cells of its first line (that many in every row), its rows."""

    shown: str
    header: tuple[str, ...]
    rows: tuple[CsvRow, ...]


def told(problems: Sequence[Problem]) -> InputError:
    """The error for these problems; of very many the first, with how many more there are."""
    named = sorted(problems)
    if len(named) > _MOST_NAMED:
        last = named[_MOST_NAMED - 1]
        more = f"and {len(named) - _MOST_NAMED + 1} more lines cannot be used"
        named = [
            *named[: _MOST_NAMED - 1],
            Problem(last.file, last.line, more, "put the first ones right and try again"),
        ]
    return InputError(named)


def read_table(raw: bytes, shown: str) -> CsvTable:
    """The table these bytes hold: UTF-8 (with or without its mark), commas, a first line that names the columns.

    Raises InputError with every line that is no row: another encoding, too large, too many rows, an open quote,
    another number of cells than the first line, a cell that a spreadsheet would take for a formula. A number's sign
    is no formula.
    """
    lines = _lines(_text(raw, shown), shown)
    if not lines:
        raise InputError([Problem(shown, 1, "the table is empty", "the first line names the columns")])
    first, names = lines[0]
    header = tuple(name.strip() for name in names)
    if len(header) == 1 and any(sign in header[0] for sign in ";\t|"):
        raise InputError(
            [Problem(shown, first, "the columns are not separated by commas", "save it as CSV with commas")]
        )
    problems = [
        Problem(
            shown, first, f"the column `{_short(name)}` stands twice" if name else "a column has no name", "name it"
        )
        for at, name in enumerate(header)
        if not name or name in header[:at]
    ]
    rows = []
    for line, cells in lines[1:]:
        problems += [Problem(shown, line, what, todo) for what, todo in _wrong(cells, header)]
        rows.append(CsvRow(line, {name: cell.strip() for name, cell in zip(header, cells, strict=False)}))
    if problems:
        raise told(problems)
    return CsvTable(shown, header, tuple(rows))


def _text(raw: bytes, shown: str) -> str:
    if len(raw) > LARGEST_TABLE:
        what = f"is larger than {LARGEST_TABLE // 1024} KiB"
        raise InputError([Problem(shown, 0, what, "split it, or take out what does not belong here")])
    todo = "save it as CSV in UTF-8"
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError([Problem(shown, 1, "the file is written in UTF-16", todo)])
    raw = raw.removeprefix(b"\xef\xbb\xbf")
    if (at := raw.find(b"\0")) >= 0:
        raise InputError([Problem(shown, raw.count(b"\n", 0, at) + 1, "holds NUL bytes: this is no text", todo)])
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as trouble:
        line = raw.count(b"\n", 0, trouble.start) + 1
        raise InputError([Problem(shown, line, f"the byte {raw[trouble.start]:#04x} is not UTF-8", todo)]) from trouble


def _lines(text: str, shown: str) -> list[tuple[int, list[str]]]:
    """Every line with a cell in it, with the number of the line it begins on."""
    found: list[tuple[int, list[str]]] = []
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                found.append((begins, cells))
            if len(found) > MOST_ROWS + 1:
                todo = "split it, or take out what does not belong here"
                raise InputError([Problem(shown, begins, f"holds more than {MOST_ROWS} rows", todo)])
            begins = reader.line_num + 1
    except csv.Error as trouble:
        what = "a quote is not closed, or stands in the middle of a cell"
        raise InputError([Problem(shown, begins, what, 'write a cell that holds a quote as "...""..."')]) from trouble
    return found


def _wrong(cells: Sequence[str], header: Sequence[str]) -> list[tuple[str, str]]:
    found = []
    if len(cells) != len(header):
        what = f"this line has {len(cells)} cells, the first line {len(header)}"
        found.append((what, "look for a missing comma, or a comma too many"))
    if any(len(cell) > _LONGEST_CELL for cell in cells):
        found.append((f"a cell is longer than {_LONGEST_CELL} characters", "a table holds numbers and short words"))
    for name, cell in zip(header, cells, strict=False):
        if _is_formula(cell):
            what = f"`{_short(name)}` begins like a formula of a spreadsheet: `{_short(cell.strip())}`"
            found.append((what, "write the value itself"))
    return found


def _is_formula(cell: str) -> bool:
    bare = cell.lstrip(" ")
    signed = bare.startswith(_SIGNS) and len(bare) > 1 and not (bare[1].isdigit() or bare[1] == ".")
    return bare.startswith(_FORMULA) or signed


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:39] + "…"
