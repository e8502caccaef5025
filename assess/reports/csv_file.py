"""A table as CSV (RFC 4180): UTF-8, CRLF, and no cell that a spreadsheet would take for a formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from assess.reports.table_file import TableFile, plain_cell

__all__ = ["csv_bytes", "csv_lines", "guarded", "unguarded"]

# What a spreadsheet takes for the beginning of a formula, also after blanks and in full width. Source: OWASP,
# "CSV Injection"; NUL because some programs drop it and read on.
_FORMULA = re.compile(r"[ \u00a0\u3000]*[=+\-@\t\r\n\0＝＋－＠]")
_GUARDED = re.compile(rf"'+{_FORMULA.pattern}")


def guarded(cell: str) -> str:
    """The cell as a spreadsheet takes it for text: with a `'` before what it would take for a formula.

    A cell that already looks guarded gets one more, so that `unguarded` gives back every text as it was.
    """
    return f"'{cell}" if _FORMULA.match(cell) or _GUARDED.match(cell) else cell


def unguarded(cell: str) -> str:
    """The cell as it was before `guarded`."""
    return cell[1:] if _GUARDED.match(cell) else cell


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A header and rows of text as CSV, written as they are."""
    into = io.StringIO(newline="")
    writer = csv.writer(into, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows(rows)
    return into.getvalue()


def csv_bytes(table: TableFile, *, raw: bool = False) -> bytes:
    """The table as CSV in UTF-8. raw: texts as they are, for programs; otherwise guarded. Numbers never are."""

    def shown(cell: object, text: str) -> str:
        return guarded(text) if isinstance(cell, str) and not raw else text

    rows = ([shown(cell, plain_cell(cell)) for cell in row] for row in table.rows)
    return csv_lines([column.name for column in table.columns], rows).encode("utf-8")
