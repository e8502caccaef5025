"""A film of one's own lesson: mpv beside, the list of what was seen here; a few keys, all of them on a numeric pad."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from textual.containers import VerticalScroll
from textual.message import Message
from textual.widget import Widget

from assess.records.errors import AssessError, Refusal
from assess.records.times import film_text
from assess.tui.acts import act
from assess.tui.desk_screen import DeskScreen
from assess.tui.film_picture import film_head, film_rows
from assess.tui.line import Line
from assess.tui.shown import lines

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet, Noted
    from assess.records.ledger import Entry

__all__ = ["FilmOpened", "FilmPlayer"]

STEP_MS, LOOK_BACK_MS, SHORTEST_MS = 5000, 10_000, 500
SPEEDS = {1.0: "", 0.5: " at half its speed", 0.25: " at a quarter of its speed"}
OPENING, TYPED, NO_FILM = "the film is being opened", "no film, typed times", "no film is shown here"
LOST = "mpv was closed; times are typed now, {key} opens the film again"


class FilmOpened(Message, bubble=False):
    """The film is shown, or why times are typed."""

    def __init__(self, player: Any, told: str) -> None:
        super().__init__()
        self.player, self.told, self.length_ms = player, told, 0
        with contextlib.suppress(AssessError, AttributeError):
            # A film of unknown length is shown all the same.
            self.length_ms = player.length_ms


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
        self.with_film, self.opening, self.length_ms = False, True, 0
        self.playing, self.speed = False, 1.0
        self.looped: int | None = None
        self.at = 0
        self.from_ms: int | None = None
        self.left = False
        self.why_typed = ""

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
        self._open_film()

    def _open_film(self) -> None:
        self.opening = True
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
        self.opening, self.length_ms, self.why_typed = False, message.length_ms, message.told
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
        clock = film_text(self.slot.at_ms)
        if self.with_film and not self.playing:
            clock += f".{self.slot.at_ms % 1000 // 10:02d}"  # so that one frame on is seen
        if self.length_ms:
            clock += f" of {film_text(self.length_ms)}"
        head = film_head(self.slot, clock, self._state(), self.from_ms, self._key_of_next(), width)
        self.query_one("#film-head", Line).say(lines(head), grow=True)

    def _state(self) -> str:
        if not self.with_film:
            return OPENING if self.opening else TYPED
        state = ("playing" if self.playing else "still") + SPEEDS[self.speed]
        return state + (", again and again" if self.looped is not None else "")

    def _key_of_next(self) -> str:
        step = self.slot.next_step()[0]
        return self.assess.keys.first(act(f"film.{step}")) if step else ""

    def draw(self) -> None:
        """Everything afresh."""
        self.tick()
        width = (self.size.width or 80) - 4  # a bar beside the list takes two
        listed = self.slot.listed()
        self.at = min(self.at, max(0, len(listed) - 1))
        drawn = film_rows(self.slot, self.at, width, self._hints())
        self.query_one("#film-noted", Line).say(lines(drawn), grow=True)
        if listed:
            above = len(drawn) - len(listed) + self.at
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
        why = (
            [] if self.with_film or not self.why_typed else [self.why_typed[:1].upper() + self.why_typed[1:] + ".", ""]
        )
        wanted = [act(f"film.{name}") for name in (*begin, *player, "note", "levels")]
        return [*why, first, *(f"  {keys.first(item):<6} {item.help}" for item in wanted)]

    def here(self) -> int:
        """Where the film stands, in ms; kept on the sheet, so that whatever is noted has it."""
        try:
            if not self.player.gone:
                self.slot.at_ms = max(0, self.player.position_ms)
                self.playing = not self.player.paused
                return self.slot.at_ms
        except AssessError:
            pass  # told by `_lost`
        self._lost()
        return self.slot.at_ms

    def _lost(self) -> None:
        """The film is gone: typed times from here on, and nothing is lost."""
        from assess.desk.film_player import typed_times

        self.player.close()
        self.player, self.with_film, self.playing, self.looped = typed_times(self.slot.at_ms), False, False, None
        self.why_typed = LOST.format(key=self.assess.keys.first(act("film.play")))
        self.tell(self.why_typed, "warn")

    def chosen(self) -> Noted:
        """The line of the list one is on. Raises Refusal when there is none."""
        listed = self.slot.listed()
        if not listed:
            raise Refusal("nothing is noted yet", todo="note what you see first")
        return listed[self.at]

    @contextlib.contextmanager
    def standing_still(self) -> Iterator[None]:
        """The film stands still while something is written, and goes on afterwards if it was playing."""
        self.here()
        was = self.playing
        if was:
            self._play(False)
        try:
            yield
        finally:
            if was and not self.left:
                self._play(True)

    def _play(self, on: bool) -> None:
        if self.with_film and self.here() >= 0 and self.with_film:
            self.player.pause(not on)
            self.playing = on
        if not self.left:
            self.tick()

    def need_film(self) -> None:
        """Raises Refusal when no film is shown."""
        if not self.with_film:
            raise Refusal(OPENING if self.opening else NO_FILM, todo="a moment" if self.opening else "type a time")

    # --- the film ------------------------------------------------------------------------------

    def go_to(self, ms: int) -> None:
        """Stand at a time."""
        if self.here() >= 0:
            self.player.seek(max(0, ms))
        self.tick()

    def act_play(self, key: str) -> None:
        """Play, or stand still; where no film is shown, look for it once more."""
        if not self.with_film and not self.opening:
            self._open_film()
            self.tell(OPENING)
            self.draw()
            return
        self.need_film()
        self.here()
        self._play(not self.playing)

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
        self.need_film()
        if self.here() >= 0:
            self.player.step(frames)
        self.tick()

    def act_slower(self, key: str) -> None:
        """Half, a quarter, as it was."""
        self.need_film()
        speeds = list(SPEEDS)
        self.speed = speeds[(speeds.index(self.speed) + 1) % len(speeds)]
        self.player.speed(self.speed)
        self.tick()

    def act_go(self, key: str) -> None:
        """To the time of the chosen line."""
        self.go_to(self.chosen().film_ms or 0)

    def act_repeat(self, key: str) -> None:
        """The chosen stretch again and again (an instant: the ten seconds before it); the same line: no more."""
        self.need_film()
        item = self.chosen()
        if self.looped == item.n:
            self.looped = None
            self.player.loop(None)
            self.tick()
            return
        at = item.film_ms or 0
        start, end = (at, item.end_ms) if item.end_ms is not None else (max(0, at - LOOK_BACK_MS), at)
        self.player.loop(start, max(end, start + SHORTEST_MS))
        self.looped = item.n
        self._play(True)

    async def act_time(self, key: str) -> None:
        """To a time that is typed."""
        from assess.records.times import film_ms

        with self.standing_still():
            text = await self.tray.text("go to which time? 12:05", opened_by=key)
        if text and text.strip():
            try:
                at = film_ms(text)
            except ValueError as trouble:
                raise Refusal(str(trouble)) from None
            past = self.length_ms and at > self.length_ms
            self.go_to(at)
            self.tell(f"the film ends at {film_text(self.length_ms)}" if past else "")

    def act_up(self, key: str) -> None:
        """The line before."""
        self.at = max(0, self.at - 1)
        self.draw()

    def act_down(self, key: str) -> None:
        """The line after."""
        self.at = min(max(0, len(self.slot.listed()) - 1), self.at + 1)
        self.draw()
