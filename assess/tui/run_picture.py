"""The run sheet as it is seen: the criteria, a line per candidate, what the levels mean."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.tui.levels_panel import LevelsPanel
from assess.tui.marking_screen import VIEWS
from assess.tui.run_asks import RunAsks
from assess.tui.run_layout import LineState, RunLayout, layout_for
from assess.tui.run_row import HeadRow, RunRow
from assess.tui.run_steps import Spot, first_spot, open_cell

if TYPE_CHECKING:
    from assess.desk.run_sheet import Row, RunSheet
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["RunPicture"]

ROOMY = 80


class RunPicture(RunAsks):
    """Rows and panel, repainted only where they changed; `spot` is the cell one is on."""

    DEFAULT_CSS = """
    RunPicture #rows { height: 1fr; min-height: 2; }
    """

    def __init__(self, sheet: RunSheet) -> None:
        super().__init__()
        self.sheet = sheet
        self.overall = False
        self.rows: list[Row] = list(sheet.rows())
        self.spot: Spot = first_spot(self.rows)
        self.came_from: str | None = None
        self.recent: list[str] = []
        self.panel_about: tuple[int, int | None] = (self.spot.cell, None)
        self.all_shown = False
        self.lines: list[RunRow] = []
        self._foreshown: tuple[Spot, str, str | None] | None = None

    # --- picture -------------------------------------------------------------------------------

    @property
    def place(self) -> str:
        """The run sheet."""
        return "run"

    def title_words(self) -> str:
        """Task, run, viewpoint, ground."""
        sheet = self.sheet
        place = self.desk.course.task(sheet.task_id)
        slope = f"{place.slope_deg}°" if place and place.slope_deg is not None else ""
        ground = " ".join(part for part in (slope, place.snow if place else "") if part)
        runs = max(sheet.runs, sheet.run)
        run = "overall marks" if self.overall else f"run {sheet.run} of {runs}" if runs > 1 else ""
        view = VIEWS.get(sheet.viewpoint or "", "")
        return " · ".join(part for part in (sheet.task_id, run, view, sheet.task.title, ground) if part)

    def body(self) -> Iterable[Widget]:
        """The criteria, the rows, the levels."""
        yield HeadRow()
        self.lines = [RunRow() for _ in self.rows]
        scroll = VerticalScroll(*self.lines, id="rows", classes="scrolls")
        scroll.can_focus = False
        yield scroll
        yield LevelsPanel()

    def draw(self) -> None:
        """All rows afresh."""
        self.rows = [self._overall_row(row) if self.overall else row for row in self.sheet.rows()]
        self.show_rows()
        self.show_levels()

    def layout_now(self) -> RunLayout:
        """How wide everything is."""
        return layout_for(self.size.width or 80, self.rows, self.sheet.labels)

    def show_rows(self) -> None:
        """Repaint the rows that show something else than before."""
        layout = self.layout_now()
        self.query_one(HeadRow).show(layout, self.sheet.labels)
        lags = self.desk.save_state().word == "not saved"
        for row, line in zip(self.rows, self.lines, strict=True):
            here = row.candidate == self.spot.candidate
            fore = self._foreshown
            shown = (fore[0].cell, fore[1]) if fore and fore[0].candidate == row.candidate else None
            line.show(layout, row, LineState(self.spot.cell if here else None, shown, lags, self.overall))
            if here and self.query_one("#rows", VerticalScroll).max_scroll_y:
                line.scroll_visible(animate=False)

    def show_levels(self) -> None:
        """The panel: what the level last given means, or all levels."""
        cell, given = self.panel_about
        criterion, label = self.sheet.criteria[cell], self.sheet.labels[cell]
        panel = self.query_one(LevelsPanel)
        if self.all_shown:
            described = self.sheet.rubric.criteria[criterion]
            question = described.text if self.size.width >= ROOMY else ""
            panel.show_all(label, question, tuple(sorted(described.levels.items())), given)
        else:
            panel.show_three(
                label, self.sheet.descriptors(criterion, given), given, self.size.width or 80, self.sheet.labels
            )

    def show_saving(self) -> None:
        """The sign, and marks the disk has not taken yet."""
        super().show_saving()
        if self.desk.save_state().word == "not saved" or self._lagged:
            self._lagged = self.desk.save_state().word == "not saved"
            self.draw()

    _lagged = False

    # --- state ---------------------------------------------------------------------------------

    def slot_here(self) -> SlotSheet:
        """The row one is on."""
        return self.sheet.slot(self.spot.candidate)

    def slot_meant(self) -> SlotSheet:
        """The row just finished when the next came up by itself, else the row one is on."""
        return self.sheet.slot(self.came_from or self.spot.candidate)

    def lock_group(self) -> tuple[SlotSheet, ...]:
        """All my rows."""
        return self.sheet.slots

    def row_of(self, candidate: str) -> Row:
        """A row as last drawn."""
        return next(row for row in self.rows if row.candidate == candidate)

    def changed(self, slot: SlotSheet) -> None:
        """One row afresh."""
        self.renew(slot.candidate)
        self.show_rows()
        self.show_saving()

    def renew(self, candidate: str) -> None:
        """Ask the desk for one row again."""
        row = self.sheet.row(candidate)
        row = self._overall_row(row) if self.overall else row
        self.rows = [row if old.candidate == candidate else old for old in self.rows]

    def _overall_row(self, row: Row) -> Row:
        sheet = self.sheet.slot(row.candidate).sheet
        words = {"not-observed": "no", "not-applicable": "na"}
        cells = []
        for cell in row.cells:
            mark = sheet.run_mark(0, cell.criterion)
            runs = (*cell.earlier, *((cell.text,) if cell.text != "·" else ()))
            text = "·" if mark is None else words.get(mark.status, str(mark.level))
            cells.append(replace(cell, text=text, earlier=runs))
        return replace(row, cells=tuple(cells))

    def go_to(self, candidate: str, cell: int | None = None) -> None:
        """Go to a row, at its first open cell unless a cell is named."""
        self.came_from = None
        first = open_cell(self.row_of(candidate)) if cell is None else cell
        self.touched(candidate)
        self.step_to(Spot(candidate, first or 0))

    def touched(self, candidate: str) -> None:
        """Remember the two rows touched last."""
        self.recent = [*[who for who in self.recent if who != candidate][-1:], candidate]

    def step_to(self, spot: Spot) -> None:
        """Stand on a cell and show what its levels mean."""
        self.spot = spot
        text = self.row_of(spot.candidate).cells[spot.cell].text
        self.panel_about = (spot.cell, int(text) if text.isdigit() else None)
        self.show_rows()
        self.show_levels()
