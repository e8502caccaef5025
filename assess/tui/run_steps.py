"""Where one goes on a run sheet: to the next open cell, then to the next open row. Pure: rows in, a spot out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.desk.run_sheet import Row

__all__ = ["Spot", "after_mark", "changed_spot", "first_spot", "moved", "open_cell", "takes_marks"]

OPEN = "·"


@dataclass(frozen=True)
class Spot:
    """A candidate's row and a criterion's cell on it."""

    candidate: str
    cell: int


def takes_marks(row: Row) -> bool:
    """True for a row that can be marked: not locked, the candidate not absent or withdrawn."""
    return not row.locked and row.standing not in ("absent", "withdrawn")


def open_cell(row: Row, start: int = 0) -> int | None:
    """The first cell without a mark from `start` on, or None."""
    return next((index for index in range(start, len(row.cells)) if row.cells[index].text == OPEN), None)


def _at(rows: Sequence[Row], candidate: str) -> int:
    return next((index for index, row in enumerate(rows) if row.candidate == candidate), 0)


def first_spot(rows: Sequence[Row]) -> Spot:
    """Where to begin: the first open cell of the first row that takes marks."""
    for row in rows:
        cell = open_cell(row)
        if takes_marks(row) and cell is not None:
            return Spot(row.candidate, cell)
    return Spot(rows[0].candidate, 0)


def after_mark(rows: Sequence[Row], spot: Spot) -> Spot:
    """Where to go after a mark: the next open cell to the right, else the next open row, round to the first.

    With nothing open anywhere one stays.
    """
    here = _at(rows, spot.candidate)
    cell = open_cell(rows[here], spot.cell + 1)
    if cell is not None:
        return Spot(spot.candidate, cell)
    for step in range(1, len(rows) + 1):
        row = rows[(here + step) % len(rows)]
        cell = open_cell(row)
        if takes_marks(row) and cell is not None:
            return Spot(row.candidate, cell)
    return spot


def moved(rows: Sequence[Row], spot: Spot, *, down: int = 0, right: int = 0) -> Spot:
    """A step by arrow, held at the edges; a new row is entered at its first open cell."""
    here = _at(rows, spot.candidate)
    there = min(max(here + down, 0), len(rows) - 1)
    if there != here:
        return Spot(rows[there].candidate, open_cell(rows[there]) or 0)
    cells = len(rows[here].cells)
    return Spot(spot.candidate, min(max(spot.cell + right, 0), cells - 1))


def changed_spot(before: Sequence[Row], after: Sequence[Row]) -> Spot | None:
    """The first cell that shows something else than before: where an undo took something back."""
    was = {row.candidate: row for row in before}
    for row in after:
        old = was.get(row.candidate)
        for index, cell in enumerate(row.cells):
            if old is not None and old.cells[index].text != cell.text:
                return Spot(row.candidate, index)
    return None
