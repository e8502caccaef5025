"""The run sheet: one line per candidate, one digit per criterion, and the next bib is up already."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.records.errors import AssessError, Refusal
from assess.tui.levels_panel import LevelsPanel, all_levels, three_levels
from assess.tui.run_asks import Giving, RunAsks
from assess.tui.run_layout import LineState, RunLayout, layout_for
from assess.tui.run_row import HeadRow, RunRow
from assess.tui.run_steps import Spot, after_mark, changed_spot, first_spot, moved, open_cell
from assess.tui.marking_screen import VIEWS

if TYPE_CHECKING:
    from assess.desk.run_sheet import Row, RunSheet
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["RunScreen"]


class RunScreen(RunAsks):
    """My rows of one task. Digits score; everything else is one key away and waits for nothing."""

    DEFAULT_CSS = """
    RunScreen #rows { height: 1fr; min-height: 3; }
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
        slope = f"{place.slope_deg} deg" if place and place.slope_deg is not None else ""
        ground = " ".join(part for part in (slope, place.snow if place else "") if part)
        runs = max(sheet.runs, sheet.run)
        run = "overall marks" if self.overall else f"run {sheet.run} of {runs}" if runs > 1 else ""
        view = VIEWS.get(sheet.viewpoint or "", "")
        return " · ".join(part for part in (f"{sheet.task_id} {sheet.task.title}"[:60], run, view, ground) if part)

    def body(self) -> Iterable[Widget]:
        """The criteria, the rows, the levels."""
        yield HeadRow()
        scroll = VerticalScroll(*(RunRow() for _ in self.rows), id="rows", classes="scrolls")
        scroll.can_focus = False
        yield scroll
        yield LevelsPanel(ident="levels")

    def draw(self) -> None:
        """All rows afresh."""
        self.rows = [self._overall_row(row) if self.overall else row for row in self.sheet.rows()]
        self.show_rows()
        self.show_levels()

    def layout_now(self) -> RunLayout:
        """How wide everything is."""
        return layout_for(self.size.width or 80, self.rows, len(self.sheet.criteria))

    def show_rows(self) -> None:
        """Repaint the rows that show something else than before."""
        layout = self.layout_now()
        self.query_one(HeadRow).show(layout, self.sheet.labels)
        lags = self.desk.save_state().word == "not saved"
        for row, line in zip(self.rows, self.query(RunRow), strict=True):
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
        panel.set_class(self.all_shown, "-all")
        if self.all_shown:
            described = self.sheet.rubric.criteria[criterion]
            panel.say(all_levels(label, described.text, tuple(sorted(described.levels.items())), given), grow=True)
        else:
            three = self.sheet.descriptors(criterion, given)
            panel.say(three_levels(label, three, given, (self.size.width or 80) - 2))

    def on_resize(self, event: object) -> None:
        """Lay out again."""
        super().on_resize(event)  # type: ignore[arg-type]
        self.show_rows()
        self.show_levels()

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
        self.recent = [who for who in self.recent if who != candidate][-1:] + [candidate]

    def step_to(self, spot: Spot) -> None:
        """Stand on a cell and show what its levels mean."""
        self.spot = spot
        text = self.row_of(spot.candidate).cells[spot.cell].text
        self.panel_about = (spot.cell, int(text) if text.isdigit() else None)
        self.show_rows()
        self.show_levels()

    # --- marks ---------------------------------------------------------------------------------

    def may_overall(self) -> str:
        """Only where the rubric asks for one level over several runs."""
        wanted = self.sheet.rubric.passes.get(self.sheet.task_id) == "overall"
        return "" if wanted else f"{self.sheet.task_id} has no overall mark: each run stands for itself"

    def act_level(self, key: str) -> None:
        """A level, and on to the next cell."""
        self.mark(lambda slot, criterion: self._give(slot, criterion, int(key)), int(key))

    def _give(self, slot: SlotSheet, criterion: str, level: int) -> None:
        if self.overall:
            slot.overall(criterion, level)
        else:
            slot.score(criterion, level)

    def act_not_observed(self, key: str) -> None:
        """Could have been seen, was not."""
        self.mark(lambda slot, criterion: slot.not_observed(criterion), None)

    def mark(self, give: Giving, level: int | None) -> None:
        """Give a mark on the cell one is on, then move on."""
        here = self.spot
        row = self.row_of(here.candidate)
        bib = self.desk.bib(here.candidate)
        if row.locked:
            raise Refusal(f"bib {bib} is locked", todo="later thoughts belong in the moderation meeting")
        if row.standing in ("absent", "withdrawn"):
            raise Refusal(f"bib {bib} is {row.standing}", todo="o, then back again, if they are here")
        give(self.sheet.slot(here.candidate), self.sheet.criteria[here.cell])
        self.panel_about = (here.cell, level)
        self.touched(here.candidate)
        self.renew(here.candidate)
        self.spot = after_mark(self.rows, here)
        self.came_from = here.candidate if self.spot.candidate != here.candidate else None
        self.tell(self._all_done() if self.spot == here else "")
        self.show_rows()
        self.show_levels()
        self.show_saving()

    def _all_done(self) -> str:
        done = all(open_cell(row) is None for row in self.rows if not row.locked)
        return "all rows are marked; k shows what is missing before the lock" if done else ""

    def foreshow(self, key: str) -> None:
        """Show a level that may yet turn out to be a held key."""
        item = self.assess.keys.at(self.place, key)
        if self.asker.open_now or item is None or item.id not in ("run.level", "run.not-observed"):
            return
        row = self.row_of(self.spot.candidate)
        if row.locked or row.standing in ("absent", "withdrawn"):
            return
        if key != "0" and int(key) not in self.sheet.rubric.scale.levels:
            return
        here, text = self.spot, "no" if key == "0" else key
        self._foreshown = (here, text, self.came_from)
        cells = tuple(replace(c, text=text) if i == here.cell else c for i, c in enumerate(row.cells))
        filled = [replace(old, cells=cells) if old is row else old for old in self.rows]
        self.spot = after_mark(filled, here)
        self.show_rows()

    def keep(self, key: str) -> None:
        """Write what was shown."""
        self._unshow()
        self.press(key)

    def take_back(self, key: str) -> None:
        """It was a held key: as before."""
        self._unshow()
        self.show_rows()

    def _unshow(self) -> None:
        if self._foreshown is not None:
            self.spot, self.came_from = self._foreshown[0], self._foreshown[2]
            self._foreshown = None

    # --- moving and undo -----------------------------------------------------------------------

    def act_up(self, key: str) -> None:
        """The row above."""
        self._arrow(down=-1)

    def act_down(self, key: str) -> None:
        """The row below."""
        self._arrow(down=1)

    def act_left(self, key: str) -> None:
        """The criterion before."""
        self._arrow(right=-1)

    def act_right(self, key: str) -> None:
        """The criterion after."""
        self._arrow(right=1)

    def _arrow(self, down: int = 0, right: int = 0) -> None:
        self.came_from = None
        self.tell("")
        self.step_to(moved(self.rows, self.spot, down=down, right=right))

    def act_other(self, key: str) -> None:
        """The other of the two rows touched last."""
        self.touched(self.spot.candidate)
        others = [who for who in self.recent if who != self.spot.candidate]
        if not others:
            raise Refusal("only one row was touched so far", todo="b and a number goes to another bib")
        self.go_to(others[-1])

    def act_undo(self, key: str) -> None:
        """Take the latest act on this task back."""
        before = self.rows
        taken = self.sheet.undo()
        self.draw()
        spot = changed_spot(before, self.rows)
        if spot is not None:
            self.came_from = None
            self.step_to(spot)
        self.tell(f"taken back: {taken}" if taken else "nothing of this task to take back")
        self.refresh_frame()

    def act_descriptors(self, key: str) -> None:
        """All levels in full, or three lines again."""
        self.all_shown = not self.all_shown
        text = self.row_of(self.spot.candidate).cells[self.spot.cell].text
        self.panel_about = (self.spot.cell, int(text) if text.isdigit() else None)
        self.show_levels()
        self.show_rows()

    def refused(self, error: AssessError) -> None:
        """A sentence that blocks nothing."""
        super().refused(error)
        self.show_rows()
