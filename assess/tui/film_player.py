"""A film in mpv beside a screen: opened in a thread, driven by a few keys, and never in the way when it is gone."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from typing import Any

from textual.message import Message

from assess.records.errors import AssessError, Refusal
from assess.records.times import film_text
from assess.tui.acts import act
from assess.tui.desk_screen import DeskScreen

__all__ = ["FilmOpened", "FilmPlayer"]

STEP_MS = 5000
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
    """A film, its time, and the keys that drive it. A screen says what is opened (`shown`) and draws the time."""

    at_ms = 0

    def __init__(self) -> None:
        from assess.desk.film_player import typed_times

        super().__init__()
        self.player: Any = typed_times()
        self.with_film, self.opening, self.length_ms = False, True, 0
        self.playing, self.speed, self.repeating = False, 1.0, False
        self.left = False
        self.why_typed = ""

    # --- what a screen gives -------------------------------------------------------------------

    def shown(self) -> tuple[Any, str]:
        """The player and a sentence about it; called in a thread, raises nothing."""
        raise NotImplementedError

    def tick(self) -> None:
        """Where the film stands; only its line is repainted."""
        raise NotImplementedError

    # --- opening and leaving -------------------------------------------------------------------

    def on_mount(self) -> None:
        """Open the film beside, in a thread: a large film takes its time to be known again."""
        super().on_mount()
        self.set_interval(0.25, self.tick)
        self._open_film()

    def open_again(self) -> None:
        """Close what is shown and open it afresh."""
        from assess.desk.film_player import typed_times

        self.player.close()
        self.player, self.with_film, self.playing, self.repeating = typed_times(self.at_ms), False, False, False
        self._open_film()
        self.draw()

    def _open_film(self) -> None:
        self.opening = True
        threading.Thread(target=self._open, name="film", daemon=True).start()

    def _open(self) -> None:
        player, told = self.shown()
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
        if self.at_ms:
            self.player.seek(self.at_ms)
        if self.speed != 1:
            self.player.speed(self.speed)
        if message.told:
            self.tell(message.told, "warn")
        self.draw()

    def on_unmount(self) -> None:
        """The film ends with this screen."""
        self.left = True
        self.player.close()

    # --- where it stands -----------------------------------------------------------------------

    def clock_words(self) -> str:
        """`12:05 of 20:00`; while it stands still with hundredths, so that one frame on is seen."""
        clock = film_text(self.at_ms)
        if not self.playing and (self.with_film or self.at_ms % 1000):
            clock += f".{self.at_ms % 1000 // 10:02d}"
        return clock + (f" of {film_text(self.length_ms)}" if self.length_ms else "")

    def state_words(self) -> str:
        """Playing or still, how slow, again and again; or why no film is shown."""
        if not self.with_film:
            return OPENING if self.opening else TYPED
        state = ("playing" if self.playing else "still") + SPEEDS[self.speed]
        return state + (", again and again" if self.repeating else "")

    def here(self) -> int:
        """Where the film stands, in ms; kept, so that whatever is noted has it."""
        try:
            if not self.player.gone:
                self.at_ms = max(0, self.player.position_ms)
                self.playing = not self.player.paused
                return self.at_ms
        except AssessError:
            pass  # told by `_lost`
        self._lost()
        return self.at_ms

    def _lost(self) -> None:
        """The film is gone: typed times from here on, and nothing is lost."""
        from assess.desk.film_player import typed_times

        self.player.close()
        self.player, self.with_film, self.playing, self.repeating = typed_times(self.at_ms), False, False, False
        self.why_typed = LOST.format(key=self.assess.keys.first(act("film.play")))
        self.tell(self.why_typed, "warn")

    @contextlib.contextmanager
    def standing_still(self) -> Iterator[None]:
        """The film stands still while something is written, and goes on afterwards if it was playing."""
        self.here()
        was = self.playing
        if was:
            self.play(False)
        try:
            yield
        finally:
            if was and not self.left:
                self.play(True)

    def play(self, on: bool) -> None:
        """Play, or stand still; nothing without a film."""
        if self.with_film and self.here() >= 0 and self.with_film:
            self.player.pause(not on)
            self.playing = on
        if not self.left:
            self.tick()

    def need_film(self) -> None:
        """Raises Refusal when no film is shown."""
        if not self.with_film:
            raise Refusal(OPENING if self.opening else NO_FILM, todo="a moment" if self.opening else "type a time")

    def go_to(self, ms: int) -> None:
        """Stand at a time."""
        if self.here() >= 0:
            self.player.seek(max(0, ms))
        self.tick()

    # --- acts ----------------------------------------------------------------------------------

    def act_play(self, key: str) -> None:
        """Play, or stand still; where no film is shown, look for it once more."""
        if not self.with_film and not self.opening:
            self._open_film()
            self.tell(OPENING)
            self.draw()
            return
        self.need_film()
        self.here()
        self.play(not self.playing)

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
