"""What is asked when a paper card is typed in: which card, what time stands on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.records.errors import Refusal
from assess.tui.asking import LEAVING, Answer, NumberAsk
from assess.tui.shown import Content, shown

if TYPE_CHECKING:
    from collections.abc import Callable

    from assess.desk.card_numbers import CardPlan
    from assess.tui.desk_screen import DeskScreen
    from assess.tui.tray import Tray

__all__ = ["ask_card", "ask_time"]

DIGITS = 5
TIMES = tuple(hour * 100 + minute for hour in range(10, 24) for minute in range(60))
"""Those with four digits: a time is taken with its fourth digit, so that none of them falls through to a box."""


class CardAsk(NumberAsk):
    """The five digits of a card, taken with Enter once it stands there whose card it is.

    Taken with the last digit, an Enter out of habit would answer the next question: no time on the card.
    """

    def __init__(self, whose: Callable[[str], str]) -> None:
        super().__init__("card no.", ())
        self.whose = whose

    def press(self, key: str) -> Answer | bool:
        """Digits, Backspace, Enter after five digits, or a key that leaves."""
        if key in LEAVING:
            return Answer()
        if key == "enter":
            return Answer(int(self.digits)) if len(self.digits) == DIGITS else True
        if key.isdigit() and len(key) == 1:
            self.digits = (self.digits + key)[:DIGITS]
            return True
        return super().press(key)

    def body(self, width: int) -> Content:
        """What to type; once it is typed, what card that is."""
        whole = len(self.digits) == DIGITS
        told = self.whose(self.digits) if whole else "the five digits at the top of the card, then Enter; Esc leaves"
        return shown(told, "$soft", cells=width)


async def ask_card(screen: DeskScreen) -> None:
    """Ask for a card, refuse in one sentence what is not mine or not open, and open it."""
    from assess.desk.card_numbers import card_of, cards_of
    from assess.desk.card_sheet import CardRunSheet, need_open_card
    from assess.tui.card_screen import CardScreen

    desk = screen.desk
    mine = {plan.number: plan for plan in cards_of(desk, desk.who or "")}

    def whose(number: str) -> str:
        plan = mine.get(number)
        return f"{_on_the_card(screen, plan)}; Enter opens it" if plan else "no card of yours has this number"

    number: int | None = await screen.tray.asked(CardAsk(whose))
    if number is None:
        return
    plan = card_of(desk, str(number))
    need_open_card(desk, plan)
    if plan.kind == "lesson":
        from assess.desk.lesson_card import LessonCard
        from assess.tui.lesson_card_screen import LessonCardScreen

        screen.app.push_screen(LessonCardScreen(LessonCard(desk, plan)))
        return
    time = await ask_time(screen.tray, "time on the hill")
    screen.app.push_screen(CardScreen(CardRunSheet(desk, plan, time)))


def _on_the_card(screen: DeskScreen, plan: CardPlan) -> str:
    """`T5, bib 23 Dario Felske`, or `T2, run 1, 5 bibs from 25 Finn Oberra`."""
    desk, first = screen.desk, plan.candidates[0]
    who = f"{desk.bib(first)} {desk.name(first)}"
    if plan.kind == "lesson":
        return f"{plan.task}, bib {who}"
    many = len(plan.candidates)
    run = f"run {plan.run}" if plan.run else "overall mark"
    return f"{plan.task}, {run}, {f'{many} bibs from' if many > 1 else 'bib'} {who}"


async def ask_time(tray: Tray, title: str) -> str | None:
    """A wall time as it stands on the card, `09:46`; None when none does. Raises Refusal for no time of day."""
    found = await tray.number(title, TIMES, "four digits as 0946; Enter when none is written")
    if found is None:
        return None
    hour, minute = divmod(found, 100)
    if hour > 23 or minute > 59:
        raise Refusal(f"{found:04d} is no time of day", todo="type hours and minutes in four digits")
    return f"{hour:02d}:{minute:02d}"
