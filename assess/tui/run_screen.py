"""The run sheet: one line per candidate, one digit per criterion, and the next bib is up already."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from assess.records.errors import AssessError, Refusal
from assess.tui.run_asks import Giving
from assess.tui.run_picture import RunPicture
from assess.tui.run_steps import after_mark, changed_spot, moved, open_cell

if TYPE_CHECKING:
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["RunScreen"]


class RunScreen(RunPicture):
    """My rows of one task. Digits score; everything else is one key away and waits for nothing."""

    # --- marks ---------------------------------------------------------------------------------

    def may_overall(self) -> str:
        """Only where the rubric asks for one level over several runs."""
        wanted = self.sheet.rubric.fold_of(self.sheet.task_id) == "overall"
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
        if not done:
            return ""
        left = not self.overall and self.sheet.run < self.sheet.runs
        more = f"r: run {self.sheet.run + 1}, " if left else ""
        return f"all rows are marked; {more}k: what is missing before the lock"

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
