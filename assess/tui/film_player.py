"""A film of one's own lesson: mpv beside, the list of what was seen here; a few keys, all of them on a numeric pad."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from textual.containers import VerticalScroll
from textual.message import Message
from textual.widget import Widget

from assess.records.errors import AssessError, Refusal
from assess.tui.acts import act
from assess.tui.desk_screen import DeskScreen
from assess.tui.film_picture import film_head, noted_lines
from assess.tui.line import Line
from assess.tui.shown import lines

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet, Noted
    from assess.records.ledger import Entry

__all__ = ["FilmOpened", "FilmPlayer"]

STEP_MS, LOOK_BACK_MS = 5000, 10_000
SPEEDS = (1.0, 0.5, 0.25)
LOST = "mpv was closed; go on: times are typed now, the film opens again with this screen"


class FilmOpened(Message, bubble=False):
    """The film is shown, or why times are typed."""

    def __init__(self, player: Any, told: str) -> None:
        super().__init__()
        self.player, self.told = player, told


class FilmPlayer(DeskScreen):
    """The film, its time, and the list; what is written is in `FilmScreen`."""

    DEFAULT_CSS = """
    FilmPlayer #film-head { height: 3; padding: 0 1; }
    FilmPlayer #film-scroll { height: 1fr; padding: 0 1; }
    FilmPlayer #film-noted { height: auto; }
    """

    def __init__(self, slot: FilmSheet) -> None:
        from assess.desk.film_player import typed_times

        super().__init__()
        self.slot = slot
        self.player: Any = typed_times()
        self.with_film, self.playing, self.speed_at, self.looped = False, False, 0, False
        self.at = 0
        self.from_ms: int | None = None
        self.left = False

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

    def on_mount(self) -> None:
        """Open the film beside, in a thread: a large film takes its time to be known again."""
        super().on_mount()
        self.set_interval(0.25, self.tick)
        threading.Thread(target=self._open, name="film", daemon=True).start()

    def _open(self) -> None:
        from assess.desk.film_player import shown_film

        player, told = shown_film(self.slot)
        with contextlib.suppress(RuntimeError):
            if not self.left and self.post_message(FilmOpened(player, told)):
                return
        player.close()

    def on_film_opened(self, message: FilmOpened) -> None:
        """The film is there, or why it is not."""
        if self.left:
            message.player.close()
            return
        self.player, self.with_film = message.player, hasattr(message.player, "pid")
        if self.slot.at_ms:
            self.player.seek(self.slot.at_ms)
        if message.told:
            self.tell(message.told, "warn")
        self.draw()

    def on_unmount(self) -> None:
        """The film ends with this screen."""
        self.left = True
        self.player.close()

    # --- picture -------------------------------------------------------------------------------

    def tick(self) -> None:
        """Where the film stands; only this line is repainted."""
        self.here()
        width = (self.size.width or 80) - 2
        state = "typed times" if not self.with_film else "playing" if self.playing else "still"
        if self.with_film and SPEEDS[self.speed_at] != 1:
            state += f", {SPEEDS[self.speed_at]:g} of its speed"
        if self.looped:
            state += ", again and again"
        head = film_head(self.slot, self.slot.at_ms, state, self.from_ms, width)
        self.query_one("#film-head", Line).say(lines(head), grow=True)

    def draw(self) -> None:
        """Everything afresh."""
        self.tick()
        width = (self.size.width or 80) - 4  # a bar beside the list takes two
        self.at = min(self.at, max(0, len(self.slot.noted()) - 1))
        drawn = noted_lines(self.slot, self.at, width, self._hints())
        self.query_one("#film-noted", Line).say(lines(drawn), grow=True)
        if self.slot.noted():
            above = len(drawn) - len(self.slot.noted()) + self.at
            scroll = self.query_one("#film-scroll", VerticalScroll)
            scroll.scroll_to(y=max(0, above - scroll.size.height // 2), animate=False)

    def stand_on(self, entry: Entry) -> None:
        """Choose the line of what was just written."""
        places = [place for place, item in enumerate(self.slot.noted()) if item.n == entry.n]
        self.at = places[0] if places else self.at
        self.draw()

    def _hints(self) -> list[str]:
        """What to press before anything is noted, in the order in which it is wanted."""
        keys, names = self.assess.keys, ("film.fault", "film.plan", "film.play", "film.note", "film.levels")
        wanted = [act(name) for name in names if self.slot.own or name not in ("film.fault", "film.plan")]
        first = "Nothing noted yet. What you think comes first, before any score:"
        return [first, *(f"  {keys.first(item):<6} {item.help}" for item in wanted)]

    def here(self) -> int:
        """Where the film stands, in ms; kept on the sheet, so that whatever is noted has it."""
        try:
            if not self.player.gone:
                self.slot.at_ms = max(0, self.player.position_ms)
                return self.slot.at_ms
        except AssessError:
            pass  # told by `_lost`
        self._lost()
        return self.slot.at_ms

    def _lost(self) -> None:
        """The film is gone: typed times from here on, and nothing is lost."""
        from assess.desk.film_player import typed_times

        self.player.close()
        self.player, self.with_film, self.playing, self.looped = typed_times(self.slot.at_ms), False, False, False
        self.tell(LOST, "warn")

    def chosen(self) -> Noted:
        """The line of the list one is on. Raises Refusal when there is none."""
        noted = self.slot.noted()
        if not noted:
            raise Refusal("nothing is noted yet", todo="note what you see first")
        return noted[self.at]

    # --- the film ------------------------------------------------------------------------------

    def go_to(self, ms: int) -> None:
        """Stand at a time."""
        if self.here() >= 0:
            self.player.seek(max(0, ms))
        self.tick()

    def act_play(self, key: str) -> None:
        """Play, or stand still."""
        if not self.with_film:
            raise Refusal("no film is shown", todo="type the time instead")
        self.playing = not self.playing
        self.player.pause(not self.playing)
        self.tick()

    def act_earlier(self, key: str) -> None:
        """Five seconds back."""
        self.go_to(self.here() - STEP_MS)

    def act_later(self, key: str) -> None:
        """Five seconds on."""
        self.go_to(self.here() + STEP_MS)

    def act_frame(self, key: str) -> None:
        """One frame on."""
        self._frame(1)

    def act_frame_back(self, key: str) -> None:
        """One frame back."""
        self._frame(-1)

    def _frame(self, frames: int) -> None:
        self.playing = False
        if self.here() >= 0:
            self.player.step(frames)
        self.tick()

    def act_slower(self, key: str) -> None:
        """Half, a quarter, as it was."""
        self.speed_at = (self.speed_at + 1) % len(SPEEDS)
        self.player.speed(SPEEDS[self.speed_at])
        self.tick()

    def act_go(self, key: str) -> None:
        """To the time of the chosen line."""
        self.go_to(self.chosen().film_ms or 0)

    def act_repeat(self, key: str) -> None:
        """The chosen stretch again and again (an instant: the ten seconds before it), or no more."""
        self.looped = not self.looped
        if self.looped:
            item = self.chosen()
            at = item.film_ms or 0
            start, end = (at, item.end_ms) if item.end_ms is not None else (max(0, at - LOOK_BACK_MS), at)
            self.player.loop(start, end)
        else:
            self.player.loop(None)
        self.tick()

    async def act_time(self, key: str) -> None:
        """To a time that is typed."""
        from assess.records.times import film_ms

        text = await self.tray.text("go to which time? 12:05", opened_by=key)
        if text and text.strip():
            try:
                at = film_ms(text)
            except ValueError as trouble:
                raise Refusal(str(trouble)) from None
            self.go_to(at)

    def act_up(self, key: str) -> None:
        """The line before."""
        self.at = max(0, self.at - 1)
        self.draw()

    def act_down(self, key: str) -> None:
        """The line after."""
        self.at = min(max(0, len(self.slot.noted()) - 1), self.at + 1)
        self.draw()
