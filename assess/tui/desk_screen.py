"""One road from key to act for every screen, and the acts every screen has."""

from __future__ import annotations

from collections.abc import Coroutine
from inspect import iscoroutine
from typing import Any, ClassVar, Protocol

from textual import events

from assess.records.errors import AssessError
from assess.tui.acts import Act, act, acts_at
from assess.tui.asking import Option, SearchAsk
from assess.tui.framed_screen import FramedScreen
from assess.tui.keys import key_shown, normal_key
from assess.tui.press_filter import BURST_MS, Ruling, Verdict
from assess.tui.text_line import TextLine, again

__all__ = ["DeskScreen"]


class Asker(Protocol):
    """What takes the keys before the acts do."""

    @property
    def open_now(self) -> bool:
        """True while something is asked."""

    @property
    def typing(self) -> bool:
        """True while the keys are text."""

    def press(self, key: str) -> bool:
        """Give it a key; False when it does not understand it."""

    def close(self) -> None:
        """Leave it."""


class DeskScreen(FramedScreen):
    """Base of every screen: a method `act_...` for each act of its place."""

    MARKING: ClassVar[bool] = False

    def __init__(self) -> None:
        super().__init__()
        self.flow: Coroutine[None, Any, None] | None = None
        self._chosen: Act | None = None

    @property
    def asker(self) -> Asker:
        """Whatever asks now: the tray, or a form of this screen."""
        return self.tray

    def on_mount(self) -> None:
        """Whatever is answered goes on with its act."""
        self.tray.answered = self.go_on
        super().on_mount()

    # --- keys ----------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """One road for every key: the tray if it asks, else the act this key does here."""
        key = normal_key(event.key)
        if key == "ctrl+c":
            return
        if self.app.screen is not self:
            # It was read before the key in front of it opened or closed a screen.
            event.stop()
            self.app.screen.post_message(again(event))
            return
        if self.covered:
            event.stop()
            return
        if self.asker.typing:
            line = self.focused
            if isinstance(line, TextLine) and line.seen is not event:
                event.stop()
                line.post_message(again(event))
            return
        event.stop()
        event.prevent_default()
        if not self.MARKING:
            self.press(key)
            return
        found = None if self.asker.open_now else self.assess.keys.at(self.place, key)
        free = found is not None and found.repeats
        for ruling in self.assess.presses.press(key, event.time * 1000, free=free):
            self.rule(ruling)
        self._wait_to_settle()

    def _wait_to_settle(self) -> None:
        if self.assess.presses.pending:
            self.set_timer(BURST_MS / 1000 + 0.005, self._ask_settle)

    def _ask_settle(self) -> None:
        # Two queues behind: a key that was read before now is ruled on before this is.
        self.app.call_later(lambda: self.call_later(self._settle))

    def _settle(self) -> None:
        for ruling in self.assess.presses.settle(self.assess.now_ms()):
            self.rule(ruling)
        self._wait_to_settle()

    def rule(self, ruling: Ruling) -> None:
        """Carry out what the press filter says of a key."""
        if ruling.verdict is Verdict.COUNT:
            self.press(ruling.key)
        elif ruling.verdict is Verdict.SHOW:
            self.foreshow(ruling.key)
        elif ruling.verdict is Verdict.KEEP:
            self.keep(ruling.key)
        else:
            self.take_back(ruling.key)

    def foreshow(self, key: str) -> None:
        """Show what a key would do, if that can be shown and taken back."""

    def keep(self, key: str) -> None:
        """What was foreshown is a press after all."""
        self.press(key)

    def take_back(self, key: str) -> None:
        """What was foreshown was the repeat of a held key."""

    def leave_asking(self) -> None:
        """Leave whatever is asked, and what is asked after it."""
        while self.asker.open_now:
            self.asker.close()

    def press(self, key: str) -> None:
        """Do what a key does here: answer the tray, or an act."""
        if self.asker.open_now:
            if self.asker.press(key):
                return
            self.leave_asking()
        elif self.assess.late_enter.is_it(key):
            self.tell("the number was taken with its last digit; Enter again does what it does here")
            return
        found = self.assess.keys.at(self.place, key)
        if found is not None:
            self.do(found, key)
        elif key_shown(key).isprintable() and "+" not in key[1:]:
            helps = self.assess.keys.first(act("any.help"))
            self.tell(f"{key_shown(key)} does nothing here; {helps} shows what does")

    def do(self, item: Act, key: str) -> None:
        """Do an act, if the screen says it may be done now."""
        why = self.why_not(item)
        if why:
            self.tell(why, "warn")
            return
        # What was said of the act before would be read as said of this one.
        self.tell("")
        try:
            going = getattr(self, item.method)(key)
        except AssessError as error:
            self.refused(error)
            return
        if iscoroutine(going):
            self.flow = going
            self.go_on(None)

    def go_on(self, answer: Any) -> None:
        """Go on with the act that asked; a key that answers does all that follows before the next key is read."""
        flow = self.flow
        if flow is None:
            return
        try:
            flow.send(answer)
            return
        except StopIteration:
            pass
        except AssessError as error:
            self.refused(error)
        if self.flow is flow:
            self.flow = None
        # An act may have closed its own page.
        if self.can_tell:
            self.show_saving()
        chosen, self._chosen = self._chosen, None
        if chosen is not None:
            self.do(chosen, self.assess.keys.of(chosen)[0])

    def why_not(self, item: Act) -> str:
        """Empty when the act may be done now, else a sentence."""
        return str(getattr(self, f"may_{item.needs}")()) if item.needs else ""

    def leave_drafts(self) -> None:
        """Write down what was typed and not yet sent; called when the window goes away."""

    # --- acts of every screen ------------------------------------------------------------------

    async def act_menu(self, key: str) -> None:
        """The acts that have no key on the bare pad, as a numbered list."""
        keys = self.assess.keys
        offered = [item for item in acts_at(self.place) if not keys.on_pad(item) and not self.why_not(item)]
        # Arrows and page keys every keyboard but a bare pad has: last.
        offered.sort(key=lambda item: item.repeats)
        chosen = await self.tray.pick("more", [Option(f"{item.title}", item, item.help) for item in offered])
        self._chosen = chosen

    async def act_find(self, key: str) -> None:
        """An act by its first letters."""
        options = [
            Option(item.title, item, item.help) for item in acts_at(self.place) if len(self.assess.keys.of(item)) < 9
        ]
        chosen = await self.tray.search(SearchAsk("what do you want to do?", options))
        self._chosen = chosen

    async def act_theme(self, key: str) -> None:
        """Dark, light or outdoor."""
        from assess.tui.themes import PALETTES

        chosen = await self.tray.pick("colours", [Option(name, name) for name in PALETTES])
        if chosen is not None:
            self.app.theme = chosen

    def act_help(self, key: str) -> None:
        """Every act of this place with its keys."""
        from assess.tui.help_screen import HelpScreen

        self.app.push_screen(HelpScreen(self.place))

    def act_back(self, key: str) -> None:
        """Leave this screen."""
        self.app.pop_screen()

    def act_scroll_down(self, key: str) -> None:
        """The next page of whatever is longer than the screen."""
        self.scroll_body(1)

    def act_scroll_up(self, key: str) -> None:
        """The page before."""
        self.scroll_body(-1)

    def scroll_body(self, pages: int) -> None:
        """Turn the body so many pages."""
        for body in self.query(".scrolls"):
            body.scroll_relative(y=pages * max(1, body.size.height - 1), animate=False)
