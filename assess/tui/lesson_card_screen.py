"""Typing in a lesson card: times, criteria, drills, safety list, notes, in the order of the card."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from assess.records.errors import AssessError
from assess.tui.asking import Option, SearchAsk
from assess.tui.box_ask import EMPTY, UNDO, BoxAsk
from assess.tui.card_asks import ask_time
from assess.tui.lesson_asks import drill_option
from assess.tui.lesson_lines import level_text
from assess.tui.lesson_screen import LessonScreen

if TYPE_CHECKING:
    from assess.desk.catalogue_names import CatalogueNames
    from assess.desk.lesson_card import LessonCard

__all__ = ["LessonCardScreen"]

STATES = {"1": "done", "2": "missed", "3": "violated", "4": "not-applicable"}


class LessonCardScreen(LessonScreen):
    """Every key is written as it is pressed; what has a mark already is not asked again."""

    def __init__(self, slot: LessonCard) -> None:
        super().__init__(slot)
        self.card = slot
        self.mode = "full"

    def title_words(self) -> str:
        """The card's number first."""
        return f"card {self.card.plan_of_card.number} · {super().title_words()}"

    def clock_line(self) -> tuple[str, str]:
        """No clock runs on paper: when it was, if the card says so."""
        return self.card.began or "--:--", "from a card: nothing here has a minute but what the card gives one"

    def on_mount(self) -> None:
        """Begin with the first box."""
        super().on_mount()
        self.flow = self._card()
        self.go_on(None)

    async def _card(self) -> None:
        """The card from top to bottom; Esc ends it, and what was typed stays."""
        if self.card.sheet.from_cards:
            self.tell("this card was begun before: what has a mark is not asked again", "warn")
        if not self.card.started:
            await self._times()
        if await self._criteria() and await self._drills() and await self._safety() and await self._notes():
            self.tell(f"card {self.card.plan_of_card.number} is typed in; k shows what is missing before the lock")
        else:
            self.tell("what was typed is kept; t on the board goes on with this card")

    async def _times(self) -> None:
        while True:
            try:
                began = await ask_time(self.tray, "began")
                ended = await ask_time(self.tray, "ended") if began else None
                if began:
                    self.card.times(began, ended)
                    self.changed(self.card)
                return
            except AssessError as error:
                self.refused(error)

    async def _criteria(self) -> bool:
        criteria = self.card.criteria
        given: list[int] = []
        at = 0
        while at < len(criteria):
            if level_text(self.card, criteria[at]) and at not in given:
                at += 1
                continue
            answer = await self.tray.asked(self._box(criteria[at]))
            if answer is None:
                return False
            if answer == UNDO:
                at = await self._undo(at, given)
                continue
            if answer != EMPTY:
                if not await self._give(criteria[at], str(answer)):
                    continue
                given.append(at)
                self.changed(self.card)
            at += 1
        return True

    def _box(self, criterion: str) -> BoxAsk:
        label, strokes = self.labels()[criterion], {"for": 0, "against": 0}

        def stroke(direction: str) -> None:
            self.card.seen(criterion, "for" if direction == "for" else "against")
            strokes[direction] += 1
            self.changed(self.card)

        levels = {str(level): level for level in self.card.rubric.scale.levels}
        return BoxAsk(
            lambda: f"{label}  + {strokes['for']}  - {strokes['against']}  level [ ]",
            {**levels, "0": "no", "full_stop": "na"},
            ["+ and - once for each stroke, then the level",
             "0 not seen · . not applicable · Enter: left empty",
             "u takes back · Esc ends the card"],
            {"plus": lambda: stroke("for"), "equals_sign": lambda: stroke("for"), "minus": lambda: stroke("against")},
        )  # fmt: skip

    async def _undo(self, at: int, given: list[int]) -> int:
        """Take the latest key on this card back; where to go on. Before the first of them the times are asked again."""
        taken = self.card.undo()
        self.changed(self.card)
        self.tell(f"taken back: {taken}" if taken else "nothing to take back")
        if given and not level_text(self.card, self.card.criteria[given[-1]]):
            return given.pop()
        if not given and not self.card.started:
            await self._times()
        return at

    async def _give(self, criterion: str, answer: str) -> bool:
        if answer == "no":
            self.card.not_observed(criterion)
        elif answer == "na":
            reason = ""
            if self.desk.day_book.reason_not_applicable(self.card.task_id, criterion) is None:
                asked = f"why is {self.labels()[criterion]} not applicable in {self.card.task_id}? (asked once)"
                reason = (await self.tray.text(asked) or "").strip()
                if not reason:
                    return False
            self.card.not_applicable(criterion, reason)
        else:
            self.card.score(criterion, int(answer))
        return True

    def _offer_drills(self, ask: SearchAsk, names: CatalogueNames) -> None:
        self.offer(ask, [drill_option(entry) for entry in names.drills])

    async def _drills(self) -> bool:
        """Line by line by the first letters of any name; Enter alone when there is no more."""
        while True:
            ask = SearchAsk("drill:", [Option("no more drills", ("", None))], free=lambda text: (text.strip(), None))
            self.assess.with_names(partial(self._offer_drills, ask))
            found = await self.tray.search(ask)
            if found is None:
                return False
            words, drill = found
            if not words:
                return True
            self.card.drill(words, drill=drill)
            self.changed(self.card)

    async def _safety(self) -> bool:
        states, items = self.card.safety_states(), list(self.card.rubric.safety_list)
        at = 0
        while at < len(items):
            item = items[at]
            if states.get(item.id) is not None:
                at += 1
                continue
            about = [
                "1 done · 2 missed · 3 violated · 4 not applicable",
                "Enter: left empty · u takes back · Esc ends the card",
            ]
            answer = await self.tray.asked(BoxAsk(partial(str, item.text), STATES, about))
            if answer is None:
                return False
            if answer == UNDO:
                taken = self.card.undo()
                self.tell(f"taken back: {taken}" if taken else "nothing to take back")
                at = max(0, at - 1)
                states = self.card.safety_states()
            elif answer != EMPTY:
                self.card.safety_item(item.id, str(answer))
                at += 1
            else:
                at += 1
            self.changed(self.card)
        return True

    async def _notes(self) -> bool:
        while True:
            self._noting = self.card
            text = await self.tray.text(f"note, {self.who_is(self.card)}:", "", "as on the card; Enter alone: no more")
            self._noting = None
            if text is None:
                return False
            if not text.strip():
                return True
            self.write_note(self.card, text)
