"""A lesson card typed in: the lesson sheet without a running clock; only times that stand on the card are times."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.desk.card_sheet import need_open_card, say_from_card
from assess.desk.lesson_sheet import LessonSheet
from assess.records.errors import Refusal
from assess.records.facts import FromCard, Lock, SomeFact, Started, Undo
from assess.records.lesson_facts import Ended
from assess.records.times import local_instant, milliseconds, wall_minutes

if TYPE_CHECKING:
    from assess.desk.card_numbers import CardPlan
    from assess.desk.session import Desk
    from assess.records.ledger import Entry

__all__ = ["LessonCard"]


class LessonCard(LessonSheet):
    """One lesson as it stands on its card. Raises Refusal when its sheet is locked."""

    def __init__(self, desk: Desk, plan: CardPlan) -> None:
        super().__init__(desk, plan.task, plan.candidates[0])
        need_open_card(desk, plan)
        self.plan_of_card = plan
        self.began: str | None = None

    def clock_ms(self) -> int | None:
        """Nothing: what is typed in later has no minute of the lesson."""
        return None

    def append(self, fact: SomeFact) -> Entry:
        """Append a fact, and before the first one that it comes from this card."""
        if not self.locked and not isinstance(fact, FromCard | Undo | Lock):
            say_from_card(self, self.plan_of_card.number, self.began)
        return super().append(fact)

    def times(self, began: str, ended: str | None) -> None:
        """The wall times `09:46` on the card. Raises Refusal for an end before the start or a start still to come."""
        minutes = None if ended is None else wall_minutes(ended) - wall_minutes(began)
        if minutes is not None and minutes < 0:
            raise Refusal(f"{ended} is before {began}", todo="look at the card again")
        day = self.desk.course.held_on(self.task_id, self.candidate)
        if day is None:
            raise Refusal(f"the course has no day for {self.task_id}", todo="see the days in course.yaml")
        start = milliseconds(local_instant(day, began, self.desk.offset))
        if start > milliseconds(self.desk.now()):
            raise Refusal(f"{began} on {day} is still to come", todo="look at the card and at the clock of this device")
        self.began = began
        say_from_card(self, self.plan_of_card.number, began)
        self.append(Started(ago_ms=milliseconds(self.desk.now()) - start))
        if minutes is not None:
            self.append(Ended(minute_ms=minutes * 60_000))
