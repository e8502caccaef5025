"""The acts of the run sheet that ask something: bib, belongs to, order, another run, not applicable."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from assess.records.errors import Refusal
from assess.tui.asking import Option
from assess.tui.marking_screen import MarkingScreen

if TYPE_CHECKING:
    from assess.desk.run_sheet import Row, RunSheet
    from assess.desk.slot_sheet import SlotSheet
    from assess.tui.run_steps import Spot

__all__ = ["Giving", "RunAsks"]

Giving = Callable[["SlotSheet", str], object]

ORDERS = (
    Option("later", "late", "not here yet: goes last"),
    Option("starts now", "now", "goes before all who have no mark"),
    Option("one place later", "swap", "after the next one"),
    Option("to a place", "moved", "1 is first"),
    Option("absent", "absent", "marks stay open, no number is made up"),
    Option("withdrawn", "withdrawn", "from the whole course"),
    Option("back again", "back", "takes late, absent or withdrawn off"),
    Option("wears another bib", "bib", "the marks stay with the person"),
)
RERUN_WORDS = {
    "obstructed": "obstructed", "assessor-error": "marker's error", "unsafe-ground": "unsafe ground",
}  # fmt: skip


class RunAsks(MarkingScreen):
    """Acts with a question, none of which stops the digits: the question is left by any other act."""

    sheet: RunSheet
    rows: list[Row]
    spot: Spot
    overall: bool

    def go_to(self, candidate: str, cell: int | None = None) -> None:
        """Go to a row."""
        raise NotImplementedError

    def mark(self, give: Giving, level: int | None) -> None:
        """Give a mark where one is."""
        raise NotImplementedError

    def _bibs(self) -> list[int]:
        return [row.bib for row in self.rows]

    def _row_of_bib(self, bib: int) -> Row:
        found = next((row for row in self.rows if row.bib == bib), None)
        if found is not None:
            return found
        other = self.desk.by_bib(bib)
        if other is None:
            raise Refusal(f"nobody wears bib {bib}", todo="see the bibs on the board")
        raise Refusal(f"bib {bib} is not yours in {self.sheet.task_id}", todo="choose one of your rows")

    async def act_jump(self, key: str) -> None:
        """Go to a bib by its number."""
        bib = await self.tray.number("go to bib", self._bibs(), "the number; Esc stays here")
        if bib is not None:
            self.tell("")
            self.go_to(self._row_of_bib(bib).candidate)

    async def act_belongs(self, key: str) -> None:
        """These marks belong to another bib."""
        slot = self.slot_meant()
        others = [bib for bib in self._bibs() if bib != self.desk.bib(slot.candidate)]
        bib = await self.tray.number(
            f"the marks of {self.who_is(slot)} belong to bib", others, "both keep a trace of it"
        )
        if bib is None:
            return
        target = self._row_of_bib(bib).candidate
        self.sheet.give_to(slot.candidate, bib)
        self.draw()
        self.go_to(slot.candidate)
        self.tell(f"the marks are with {self.who_is(self.sheet.slot(target))} now")

    async def act_order(self, key: str) -> None:
        """Later, now, absent, withdrawn, moved, back."""
        who = self.spot.candidate
        name = self.who_is(self.sheet.slot(who))
        change = await self.tray.pick(f"order: {name}", ORDERS)
        if change is None:
            return
        place: int | None = None
        here = next(index for index, row in enumerate(self.rows) if row.candidate == who)
        if change == "swap":
            change, place = "moved", min(here + 2, len(self.rows))
        elif change == "moved":
            place = await self.tray.number(f"{name} to place", range(1, len(self.rows) + 1))
            if place is None:
                return
            if not 1 <= place <= len(self.rows):
                raise Refusal(f"there is no place {place}", todo=f"places go from 1 to {len(self.rows)}")
        elif change == "bib":
            await self._other_bib(who, name)
            return
        elif change == "now":
            place = 1 + sum(any(cell.text != "·" for cell in row.cells) for row in self.rows[:here])
        self.sheet.order(who, change, place=place)
        self._after_order(who, here, change, name)

    async def _other_bib(self, who: str, name: str) -> None:
        bib = await self.tray.number(
            f"{name} wears bib", range(1, 10_000), "whoever wears it now takes the other one; Enter"
        )
        if bib is not None:
            self.desk.day_book.bib_change(who, bib)
            self.draw()
            self.tell(f"{self.who_is(self.sheet.slot(who))} from now on; u takes it back")

    def _after_order(self, who: str, here: int, change: str, name: str) -> None:
        self.draw()
        if change in ("now", "back"):
            self.go_to(who)
        else:
            # Whoever stands in that place now is the one at the start.
            self.go_to(self._next_open(here))
        words = {"late": "goes last", "moved": "moved", "now": "is up now", "back": "is back"}
        self.tell(f"{name} {words.get(change, f'is {change}')}; u takes it back")

    def _next_open(self, start: int) -> str:
        from assess.tui.run_steps import open_cell, takes_marks

        ring = self.rows[start:] + self.rows[:start]
        return next((r.candidate for r in ring if takes_marks(r) and open_cell(r) is not None), self.spot.candidate)

    async def act_again(self, key: str) -> None:
        """The next run for all, or a re-run of one with its reason."""
        slot, sheet = self.slot_meant(), self.sheet
        runs = [Option(f"mark run {run}", run, "all rows") for run in range(1, sheet.runs + 1) if run != sheet.run]
        reasons = [
            Option(f"re-run of {self.who_is(slot)}: {RERUN_WORDS.get(why, why)}", why)
            for why in sheet.rubric.rerun_reasons
        ]
        chosen = await self.tray.pick("another run; a fall is no reason, all runs are kept", [*runs, *reasons])
        if chosen is None:
            return
        if isinstance(chosen, int):
            sheet.start_run(chosen)
            self.overall = False
            self.start_over(f"run {chosen} is marked now")
        else:
            slot.rerun(chosen)
            self.draw()
            self.go_to(slot.candidate)
            self.tell(
                f"run {slot.run} of {self.who_is(slot)}: {RERUN_WORDS.get(chosen, chosen)}; the run before is kept"
            )
        self.refresh_frame()

    def act_overall(self, key: str) -> None:
        """Mark the one level that stands for several runs, or single runs again."""
        self.overall = not self.overall
        words = "overall marks: earlier digits are hidden until yours is typed" if self.overall else "single runs again"
        self.start_over(words)
        self.refresh_frame()

    def start_over(self, words: str) -> None:
        """Draw all and begin at the first open cell."""
        from assess.tui.run_steps import first_spot

        self.draw()
        spot = first_spot(self.rows)
        self.go_to(spot.candidate, spot.cell)
        self.tell(words)

    async def act_not_applicable(self, key: str) -> None:
        """It cannot exist here; the reason is asked once per task."""
        slot = self.slot_here()
        criterion = self.sheet.criteria[self.spot.cell]
        reason = ""
        if self.desk.day_book.reason_not_applicable(self.sheet.task_id, criterion) is None:
            label = self.sheet.rubric.criteria[criterion].label
            given = await self.tray.text(f"why is {label} not applicable in {self.sheet.task_id}? (asked once)")
            if not given or not given.strip():
                return
            reason = given.strip()
        if slot is self.slot_here():
            self.mark(lambda sheet, name: sheet.not_applicable(name, reason), None)

    def watch_from(self, viewpoint: str) -> None:
        """One viewpoint for all open rows."""
        self.sheet.view(viewpoint)
        self.refresh_frame()
