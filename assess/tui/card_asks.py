"""What is asked when a paper card is typed in: which card, what time stands on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.tui.desk_screen import DeskScreen
    from assess.tui.tray import Tray

__all__ = ["ask_card", "ask_time"]

TIMES = tuple(hour * 100 + minute for hour in range(10, 24) for minute in range(60))
"""Those with four digits: a time is taken with its fourth digit, so that none of them falls through to a box."""


async def ask_card(screen: DeskScreen) -> None:
    """Ask for a card, refuse in one sentence what is not mine or not open, and open it."""
    from assess.desk.card_numbers import card_of, cards_of
    from assess.desk.card_sheet import CardRunSheet, need_open_card
    from assess.tui.card_screen import CardScreen

    desk = screen.desk
    known = [int(plan.number) for plan in cards_of(desk, desk.who or "")]
    number = await screen.tray.number("card no.", known, "the five digits at the top of the card; Esc stays here")
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


async def ask_time(tray: Tray, title: str) -> str | None:
    """A wall time as it stands on the card, `09:46`; None when none does. Raises Refusal for no time of day."""
    found = await tray.number(title, TIMES, "four digits as 0946; Enter when none is written")
    if found is None:
        return None
    hour, minute = divmod(found, 100)
    if hour > 23 or minute > 59:
        raise Refusal(f"{found:04d} is no time of day", todo="type hours and minutes in four digits")
    return f"{hour:02d}:{minute:02d}"
