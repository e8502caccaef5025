"""A film of one's own lesson: mpv beside, the list of what was seen here; a few keys, all of them on a numeric pad."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.records.errors import Refusal
from assess.tui.acts import act
from assess.tui.film_picture import film_head, film_rows
from assess.tui.film_player import FilmPlayer
from assess.tui.line import Line
from assess.tui.shown import lines

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet, Noted
    from assess.records.ledger import Entry

__all__ = ["FilmList"]

LOOK_BACK_MS, SHORTEST_MS = 10_000, 500


class FilmList(FilmPlayer):
    """The film, its time, and the list; what is written is in `FilmScreen`."""

    DEFAULT_CSS = """
    FilmList #film-head { height: 3; padding: 0 1; }
    FilmList #film-scroll { height: 1fr; padding: 0 1; }
    FilmList #film-noted { height: auto; }
    """

    def __init__(self, slot: FilmSheet) -> None:
        super().__init__()
        self.slot = slot
        self.looped: int | None = None
        self.at = 0
        self.from_ms: int | None = None

    @property
    def at_ms(self) -> int:
        """Where the film stands: kept on the sheet, so that whatever is noted has it."""
        return self.slot.at_ms

    @at_ms.setter
    def at_ms(self, ms: int) -> None:
        self.slot.at_ms = ms

    @property
    def place(self) -> str:
        """The film."""
        return "film"

    def title_words(self) -> str:
        """Which film."""
        who = "my lesson" if self.slot.own else "a trainee's lesson"
        return f"{self.slot.candidate} {self.desk.name(self.slot.candidate)} · {who}"

    def body(self) -> Iterable[Widget]:
        """Time and what comes next above, the list below."""
        yield Line(ident="film-head")
        scroll = VerticalScroll(Line(ident="film-noted"), id="film-scroll", classes="scrolls")
        scroll.can_focus = False
        yield scroll

    def shown(self) -> tuple[Any, str]:
        """The film of this sheet."""
        from assess.desk.film_player import shown_film

        return shown_film(self.slot)

    # --- picture -------------------------------------------------------------------------------

    def tick(self) -> None:
        """Where the film stands; only this line is repainted."""
        self.here()
        width = (self.size.width or 80) - 2
        head = film_head(self.slot, self.clock_words(), self.state_words(), self.from_ms, self._key_of_next(), width)
        self.query_one("#film-head", Line).say(lines(head), grow=True)

    def _key_of_next(self) -> str:
        step = self.slot.next_step()[0]
        return self.assess.keys.first(act(f"film.{step}")) if step else ""

    def draw(self) -> None:
        """Everything afresh."""
        self.tick()
        width = (self.size.width or 80) - 4  # a bar beside the list takes two
        listed = self.slot.listed()
        self.at = min(self.at, max(0, len(listed) - 1))
        drawn, above = film_rows(self.slot, self.at, width, self._hints())
        self.query_one("#film-noted", Line).say(lines(drawn), grow=True)
        if listed:
            scroll = self.query_one("#film-scroll", VerticalScroll)
            scroll.scroll_to(y=max(0, above - scroll.size.height // 2), animate=False)

    def stand_on(self, entry: Entry) -> None:
        """Choose the line of what was just written."""
        places = [place for place, item in enumerate(self.slot.listed()) if item.n == entry.n]
        self.at = places[0] if places else self.at
        self.draw()

    def _hints(self) -> list[str]:
        """What to press before anything is noted, in the order in which it is wanted."""
        keys, step = self.assess.keys, self.slot.next_step()[0]
        begin = {"fault": ("fault", "plan"), "plan": ("plan",)}.get(step, ())
        player = ("play", "slower") if self.with_film else ("time",)
        first = "Nothing noted yet. What you think comes first, before any score:" if begin else "Nothing noted yet."
        told = self.why_typed if not self.with_film else ""
        why = [f"{told[:1].upper()}{told[1:]}.", ""] if told else []
        wanted = [act(f"film.{name}") for name in (*begin, *player, "note", "levels")]
        return [*why, first, *(f"  {keys.first(item):<6} {item.help}" for item in wanted)]

    def chosen(self) -> Noted:
        """The line of the list one is on. Raises Refusal when there is none."""
        listed = self.slot.listed()
        if not listed:
            raise Refusal("nothing is noted yet", todo="note what you see first")
        return listed[self.at]

    # --- acts ----------------------------------------------------------------------------------

    def act_go(self, key: str) -> None:
        """To the time of the chosen line."""
        self.go_to(self.chosen().film_ms or 0)

    def act_repeat(self, key: str) -> None:
        """The chosen stretch again and again (an instant: the ten seconds before it); the same line: no more."""
        self.need_film()
        item = self.chosen()
        self.repeating = not (self.repeating and self.looped == item.n)
        if self.repeating:
            at = item.film_ms or 0
            start, end = (at, item.end_ms) if item.end_ms is not None else (max(0, at - LOOK_BACK_MS), at)
            self.player.loop(start, max(end, start + SHORTEST_MS))
            self.looped = item.n
            self.play(True)
        else:
            self.player.loop(None)
            self.tick()

    def scroll_body(self, pages: int) -> None:
        """A page on or back in the list: the chosen line goes along."""
        listed, height = self.slot.listed(), self.query_one("#film-scroll").size.height
        if not listed:
            super().scroll_body(pages)
            return
        self.at = min(max(0, self.at + pages * max(1, height - 1)), len(listed) - 1)
        self.draw()

    def act_up(self, key: str) -> None:
        """The line before."""
        self.at = max(0, self.at - 1)
        self.draw()

    def act_down(self, key: str) -> None:
        """The line after."""
        self.at = min(max(0, len(self.slot.listed()) - 1), self.at + 1)
        self.draw()
