"""How wide each part of a run-sheet line is: bib, name, further mark, cells, remark. In cells, never in letters.

A line is of one style but for the bib and the cell one is on and the word of state at its end: every
change of style costs some forty bytes on the way to a far terminal, and a mark has a thousand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.tui.shown import Content, cells_of, joined, shown

if TYPE_CHECKING:
    from assess.desk.run_sheet import Cell, Row

__all__ = ["LineState", "RunLayout", "draw_head", "draw_row", "layout_for", "remark_of"]

CELL_LEAST, CELL_MOST = 5, 12
NAME_LEAST, NAME_ROOM = 8, 14
REMARK_LEAST = 11
STATE_WORDS = {"late": "late", "absent": "absent", "withdrawn": "withdrawn"}


@dataclass(frozen=True)
class RunLayout:
    """Cells for bib, name, further mark (0: not shown), each criterion, and the remark at the end."""

    bib: int
    name: int
    mark: int
    cell: int
    remark: int


@dataclass(frozen=True)
class LineState:
    """What a line shows besides its row: the cell one is on, levels not yet ruled on, and whether the disk lags."""

    cursor: int | None = None
    foreshown: tuple[int, str] | None = None
    disk_lags: bool = False
    hide_earlier: bool = False


def layout_for(width: int, rows: Sequence[Row], labels: Sequence[str]) -> RunLayout:
    """The layout for a screen so wide; names give way before cells do; spare room goes to the cells."""
    criteria = len(labels)
    bib = max([2, *(len(str(row.bib)) for row in rows)])
    earlier = max([0, *(len(cell.earlier) for row in rows for cell in row.cells)])
    least = CELL_LEAST + 2 * earlier
    cell = max(least, min(CELL_MOST, (width * 9 // 20) // max(1, criteria)))
    longest = max([6, *(cells_of(row.name) for row in rows)])
    name = min(NAME_ROOM, longest)
    widest = max([0, *(cells_of(row.mark) for row in rows)])
    # A further mark in a column of its own is seen beside every word of state: worth more than a whole label.
    aside = width - 4 - bib - name - cell * criteria - REMARK_LEAST
    aside -= widest + 1 if aside > widest else 0
    whole = min(CELL_MOST, 1 + max(map(cells_of, labels), default=0))
    cell = max(cell, min(whole, cell + max(0, aside) // max(1, criteria)))
    room = max(0, width - 3 - bib - cell * criteria)
    name = min(longest, max(NAME_LEAST, room * 45 // 100, min(NAME_ROOM, room - REMARK_LEAST - 1)))
    room -= name + 1
    mark = widest if room - widest - 1 >= REMARK_LEAST else 0
    return RunLayout(bib, name, mark, cell, max(0, room - mark - (1 if mark else 0)))


def draw_head(layout: RunLayout, labels: Sequence[str], cursor: int | None) -> Content:
    """The line over the rows: the criteria, each over its cells, the one one is on in bold."""
    lead = 3 + layout.bib + layout.name + (layout.mark + 1 if layout.mark else 0)
    parts = [shown("", cells=lead, fill=True)]
    for index, label in enumerate(labels):
        style = "bold $mark" if index == cursor else "$soft"
        parts.append(shown(" "))
        parts.append(shown(label, style, cells=layout.cell - 1, fill=True))
    return joined(parts)


def draw_row(layout: RunLayout, row: Row, state: LineState) -> Content:
    """One candidate's line."""
    here = state.cursor is not None
    lead = f"{'> ' if here else '  '}{row.bib:>{layout.bib}}"
    parts = [
        shown(lead, "bold $cursor-ink on $cursor" if here else ""),
        shown(" "),
        shown(row.name, cells=layout.name, fill=True),
    ]
    if layout.mark:
        parts += [shown(" "), shown(row.mark, cells=layout.mark, fill=True)]
    for index, cell in enumerate(row.cells):
        parts.append(_draw_cell(layout.cell, cell, index, state))
    parts.append(shown(" "))
    room = max(0, layout.remark - 1)
    parts.append(_remark(row, room, "" if layout.mark else row.mark))
    line = joined(parts)
    # The same number of cells whatever is on it: then only what differs is painted again.
    return joined([line, shown(" " * (width_of(layout, row) - line.cell_length))])


def width_of(layout: RunLayout, row: Row) -> int:
    """All cells of a line."""
    mark = layout.mark + 1 if layout.mark else 0
    return 3 + layout.bib + layout.name + mark + layout.cell * len(row.cells) + layout.remark


def _draw_cell(width: int, cell: Cell, index: int, state: LineState) -> Content:
    text = cell.text
    if state.foreshown is not None and state.foreshown[0] == index:
        text = state.foreshown[1]
    if state.disk_lags and not cell.saved:
        text += "!"
    elif cell.needs_evidence:
        text += "*"
    earlier = "" if state.hide_earlier and cell.text == "·" else " ".join(cell.earlier)
    head = shown(f" {earlier}" if earlier else "")
    if index == state.cursor:
        body = shown(f"[{' ' if text == '·' else text}]", "bold $cursor-ink on $cursor")
        lead = shown("" if earlier else " ")
    else:
        body = shown(f" {text} ")
        lead = shown("" if earlier else " ")
    drawn = joined([lead, head, body])
    return joined([drawn, shown(" " * max(0, width - drawn.cell_length))])


def remark_of(row: Row) -> tuple[str, str]:
    """The word of state at the end of a line, then what was noted."""
    word = ", ".join(part for part in ("locked" if row.locked else "", row.breach) if part)
    word = word or STATE_WORDS.get(row.standing, "")
    due = sum(cell.needs_evidence for cell in row.cells)
    if not word and due:
        word = f"note due{f' {due}' if due > 1 else ''}"
    return word, row.note


def _remark(row: Row, room: int, told_by: str) -> Content:
    """told_by: the further mark, where it has no column of its own."""
    word, note = remark_of(row)
    note = note or (told_by if not word else "")
    style = "bold $bad" if row.breach else "$good" if row.locked else "bold $warn" if word else ""
    head = shown(word, style, cells=room)
    if not note:
        return head
    gap = 2 if word else 0
    left = room - head.cell_length - gap
    return head if left < 4 else joined([head, shown(" " * gap), shown(note, "$soft", cells=left)])
