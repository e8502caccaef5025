"""The place at the bottom where a screen asks: one question at a time, never a window over the marks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, cast

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input

from assess.tui.asking import Answer, Ask, Asked, ListAsk, NumberAsk, Option, SearchAsk, TextAsk
from assess.tui.line import Line
from assess.tui.shown import shown
from assess.tui.text_line import TextLine

if TYPE_CHECKING:
    from assess.tui.app import AssessApp

__all__ = ["Tray"]


class Tray(Vertical):
    """Asks a screen's questions. `await tray.pick(...)` and its kin give the answer, or None when it was left.

    answered: called with the answer of every question; the screen goes on with its act there.
    """

    DEFAULT_CSS = """
    Tray { display: none; height: auto; max-height: 13; background: $paper; border-top: solid $mark; padding: 0 1; }
    Tray > #ask-title { color: $mark; text-style: bold; }
    Tray > #ask-body { height: auto; text-wrap: wrap; }
    """

    def __init__(self) -> None:
        super().__init__(id="tray")
        self.can_focus = False
        self.ask: Ask | None = None
        self.left_text = ""
        self.answered: Callable[[Any], None] = lambda value: None

    def on_mount(self) -> None:
        """Enter on the line answers, Esc leaves."""
        self.query_one(TextLine).pressed = self.press

    def compose(self) -> ComposeResult:
        """A title, a line to type on, and the lines of the question."""
        yield Line(ident="ask-title")
        yield TextLine("ask-text")
        yield Line(ident="ask-body")

    # --- asking --------------------------------------------------------------------------------

    async def pick(self, title: str, options: Sequence[Option]) -> Any:
        """The value of the line chosen from a numbered list."""
        return await self._put(ListAsk(title, options))

    async def number(self, title: str, known: Sequence[int], remark: str = "", *, enter: bool = False) -> int | None:
        """A number; `known` are those that exist, so that it can end without Enter unless that is asked for."""
        answer: int | None = await self._put(NumberAsk(title, known, remark, enter=enter))
        return answer

    async def amount(self, title: str, known: range) -> int | None:
        """How many, how steep, how able: taken with Enter only."""
        return await self.number(title, known, f"{known.start} to {known.stop - 1}; Enter takes it", enter=True)

    async def text(self, title: str, draft: str = "", remark: str = "", *, opened_by: str = "") -> str | None:
        """A line of text; when left, `left_text` holds what was typed."""
        answer: str | None = await self._put(TextAsk(title, draft, remark), draft, opened_by)
        return answer

    async def asked(self, ask: Ask) -> Any:
        """The answer to a question that is made where it is needed, as a box of a card."""
        return await self._put(ask)

    async def search(self, ask: SearchAsk, *, opened_by: str = "") -> Any:
        """What was chosen by its first letters."""
        return await self._put(ask, "", opened_by)

    async def _put(self, ask: Ask, draft: str = "", opened_by: str = "") -> Any:
        self.close()
        self.ask, self.left_text = ask, ""
        line = self.query_one(TextLine)
        line.display = ask.typing
        self.display = True
        self.screen.set_class(True, "-asking")
        self._draw()
        if ask.typing:
            line.open(draft, opened_by)
        return await Asked()

    # --- answering -----------------------------------------------------------------------------

    @property
    def open_now(self) -> bool:
        """True while something is asked."""
        return self.ask is not None

    @property
    def typing(self) -> bool:
        """True while the keys are text."""
        return self.ask is not None and self.ask.typing

    def press(self, key: str) -> bool:
        """Give a key to the question; False when it does not understand it (and it is still open)."""
        if self.ask is None:
            return False
        # What was typed just before this key may not have been told yet.
        line = self.query_one(TextLine)
        self._take(line.value)
        late = cast("AssessApp", self.app).late_enter
        if late.is_it(key) and self.typing and not line.value:
            return True
        asked = self.ask
        done = asked.press(key)
        if isinstance(done, Answer):
            late.answered(asked, key)
            self._end(done.value)
            return True
        self._draw()
        return done

    def close(self) -> None:
        """Leave the question without an answer."""
        if self.ask is not None:
            self._end(None)

    @property
    def unsent(self) -> str:
        """What is typed and not yet answered with."""
        return self.query_one(TextLine).value if self.typing else ""

    def _end(self, value: Any) -> None:
        line = self.query_one(TextLine)
        self.left_text = line.value if self.typing and value is None else ""
        self.ask = None
        self.display = False
        line.value = ""
        self.screen.set_focus(None)
        self.screen.set_class(False, "-asking")
        self.answered(value)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Keep the question up to date with what is typed."""
        event.stop()
        # The line as it is now: an older value may come late, after a newer one was taken.
        if self._take(self.query_one(TextLine).value):
            self._draw()

    def _take(self, text: str) -> bool:
        """Give the question the line as it stands; True when its body changed with it."""
        if isinstance(self.ask, TextAsk):
            self.ask.text = text
        elif isinstance(self.ask, SearchAsk) and self.ask.text != text:
            self.ask.typed(text)
            return True
        return False

    def on_resize(self) -> None:
        """Cut the lines to the new width."""
        if self.ask is not None:
            self._draw()

    def draw_again(self, ask: Ask) -> None:
        """Draw a question that changed by itself, if it is still asked."""
        if self.ask is ask:
            self._draw()

    def _draw(self) -> None:
        if self.ask is None:
            return
        width = (self.screen.size.width or 80) - 2
        self.query_one("#ask-title", Line).say(shown(self.ask.title, cells=width))
        body = self.query_one("#ask-body", Line)
        body.say(self.ask.body(width), grow=True)
        body.display = bool(body.content_now.plain)
