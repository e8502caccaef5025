"""A line to type on that loses no key: not one read too early, not one read too late."""

from __future__ import annotations

from collections.abc import Callable

from textual import events
from textual.widgets import Input

from assess.records.text import typed
from assess.tui.press_filter import BURST_MS

__all__ = ["TextLine", "again"]

ASKING = frozenset({"enter", "escape", "up", "down", "tab"})


def again(event: events.Key) -> events.Key:
    """The same key event, to be given to somebody else."""
    copy = events.Key(event.key, event.character)
    copy.time = event.time
    return copy


class TextLine(Input):
    """A line to type on; `pressed` gets the keys that are no text.

    The key that opened it, still held down, types nothing. Which widget gets a key is settled when
    the key is read: one that was read before the line was open comes here by way of the screen, and
    one that was read before it was closed goes back there.
    """

    DEFAULT_CSS = """
    TextLine, TextLine:focus {
        border: none; height: 1; padding: 0 1; background: $row; background-tint: transparent; color: $ink;
    }
    TextLine > .input--placeholder, TextLine > .input--suggestion { color: $soft; }
    """

    def __init__(self, ident: str | None = None) -> None:
        super().__init__(id=ident, compact=True, select_on_focus=False)
        # A blinking cursor repaints twice a second, over a slow line too.
        self.cursor_blink = False
        self.pressed: Callable[[str], object] = lambda key: None
        self.seen: events.Key | None = None
        self._opened_by = ""
        self._last_ms = 0.0

    def open(self, text: str, opened_by: str = "") -> None:
        """Put text in and take the keys."""
        self.value = typed(text)
        self.cursor_position = len(self.value)
        self._opened_by = opened_by
        self.screen.set_focus(self)

    def on_key(self, event: events.Key) -> None:
        """Take a key, unless it came too late, ends the line, or is the opening key still held down."""
        self.seen = event
        if self.screen.focused is not self or event.key in ASKING:
            event.stop()
            event.prevent_default()
            if self.screen.focused is self:
                self.pressed(event.key)
            else:
                self.screen.post_message(again(event))
            return
        self._drop_repeats(event)

    def _drop_repeats(self, event: events.Key) -> None:
        """Drop the repeats of the key that opened the line, the first of them included."""
        if not self._opened_by:
            return
        if event.key != self._opened_by:
            self._opened_by = ""
            return
        at_ms = event.time * 1000
        if at_ms - self._last_ms <= BURST_MS:
            self.value = ""
            event.stop()
            event.prevent_default()
        self._last_ms = at_ms

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text comes in as it would be recorded: one line, no controls."""
        event.stop()
        event.prevent_default()
        self.insert_text_at_cursor(typed(event.text))
