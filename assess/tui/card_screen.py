"""Typing in a run card: the run sheet in the order of the card, box by box, the free notes last."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.tui.run_screen import RunScreen
from assess.tui.run_steps import open_cell, takes_marks

if TYPE_CHECKING:
    from assess.desk.card_sheet import CardRunSheet
    from assess.desk.slot_sheet import SlotSheet
    from assess.tui.run_asks import Giving

__all__ = ["CardScreen"]


class CardScreen(RunScreen):
    """Every key is written as it is pressed; after the last box the notes are asked for, bib by bib."""

    def __init__(self, sheet: CardRunSheet) -> None:
        super().__init__(sheet)
        self.card = sheet
        self.overall = sheet.plan.run == 0
        self._asked_notes = False
        if self.overall:
            from assess.tui.run_steps import first_spot

            self.rows = [self._overall_row(row) for row in sheet.rows()]
            self.spot = first_spot(self.rows)

    def title_words(self) -> str:
        """The card's number first: it is what one holds in the other hand."""
        when = f", on the hill {self.card.on_the_hill}" if self.card.on_the_hill else ""
        return f"card {self.card.plan.number}{when} · {super().title_words()}"

    def mark(self, give: Giving, level: int | None) -> None:
        """Give a mark, and say before the first one that it comes from a card."""

        def from_card(slot: SlotSheet, criterion: str) -> None:
            self.card.from_card(slot)
            give(slot, criterion)

        super().mark(from_card, level)

    def write_note(self, slot: SlotSheet, text: str) -> None:
        """A note from the card."""
        self.card.from_card(slot)
        super().write_note(slot, text)

    async def act_level(self, key: str) -> None:  # type: ignore[override]
        """A level; after the last box the notes."""
        super().act_level(key)
        await self._notes()

    async def act_not_observed(self, key: str) -> None:  # type: ignore[override]
        """Not seen; after the last box the notes."""
        super().act_not_observed(key)
        await self._notes()

    async def act_not_applicable(self, key: str) -> None:
        """Not applicable; after the last box the notes."""
        await super().act_not_applicable(key)
        await self._notes()

    async def _notes(self) -> None:
        """The free notes, once, when no box is open any more."""
        if self._asked_notes or any(open_cell(row) is not None for row in self.rows if takes_marks(row)):
            return
        self._asked_notes = True
        number = self.card.plan.number
        while True:
            bib = await self.tray.number(
                f"card {number}: a note for bib", self._bibs(), "the bib; Enter when there is no more"
            )
            if bib is None:
                break
            slot = self.sheet.slot(self._row_of_bib(bib).candidate)
            self._noting = slot
            text = await self.tray.text(f"note, {self.who_is(slot)}:", "", "as it stands on the card")
            self._noting = None
            if text and text.strip():
                self.write_note(slot, text)
        self.tell(f"card {number} is typed in; k shows what is missing before the lock")
