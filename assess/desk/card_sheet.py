"""A run card typed in: my rows of one task in the order of the card, only its candidates and its boxes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.desk.run_sheet import RunSheet
from assess.records.errors import Refusal
from assess.records.facts import FromCard
from assess.records.ledger import live_entries

if TYPE_CHECKING:
    from assess.desk.card_numbers import CardPlan
    from assess.desk.running_order import Place
    from assess.desk.session import Desk
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["CardRunSheet", "need_open_card", "say_from_card"]


class CardRunSheet(RunSheet):
    """A run sheet that is one card. on_the_hill: the time written on it, `09:46`, or None when there is none.

    Raises Refusal when every sheet on the card is locked.
    """

    def __init__(self, desk: Desk, plan: CardPlan, on_the_hill: str | None = None) -> None:
        super().__init__(desk, plan.task)
        need_open_card(desk, plan)
        self.plan, self.on_the_hill = plan, on_the_hill
        self._slots = {candidate: self._slots[candidate] for candidate in plan.candidates}
        self.criteria = plan.criteria
        self.labels = tuple(self.rubric.criteria[item].label for item in self.criteria)
        self.start_run(plan.run or 1)

    def places(self) -> tuple[Place, ...]:
        """The candidates as they stand on the card, whatever changed in the running order since."""
        found = {place.candidate: place for place in super().places()}
        return tuple(found[candidate] for candidate in self.plan.candidates)

    def from_card(self, slot: SlotSheet) -> None:
        """Before the first mark of a sheet: that it comes from this card."""
        say_from_card(slot, self.plan.number, self.on_the_hill)


def need_open_card(desk: Desk, plan: CardPlan) -> None:
    """Raise Refusal when nothing on the card can be marked any more."""
    if all(desk.locked(plan.task, candidate, plan.assessor) for candidate in plan.candidates):
        which = "its sheet is" if len(plan.candidates) == 1 else "all its sheets are"
        raise Refusal(f"card {plan.number}: {which} locked", todo="later thoughts belong in the moderation meeting")


def say_from_card(slot: SlotSheet, number: str, on_the_hill: str | None) -> None:
    """Write once in a sheet of this device that what follows comes from a card; a time that was missing is added."""
    own = [led for led in slot.desk.shelf.sheet((slot.task_id, slot.candidate, slot.who))
           if led.header.device == slot.desk.device]  # fmt: skip
    said = [entry.fact for ledger in own for entry in live_entries(ledger) if isinstance(entry.fact, FromCard)]
    latest = said[-1] if said else None
    if latest is None or latest.card != number or (on_the_hill and latest.on_the_hill != on_the_hill):
        slot.append(FromCard(card=number, on_the_hill=on_the_hill))
