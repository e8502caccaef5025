"""Somebody sitting at the program: presses keys at times of their own and reads the screen."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from io import StringIO
from pathlib import Path
from typing import Any

from rich.console import Console
from textual import events
from textual.pilot import Pilot

from assess.tui.app import AssessApp
from assess.tui.keys import Keys
from assess.tui.line import MessageLine
from tests.courses import build_course, open_desk
from tests.tui.rest import rest

__all__ = ["Seat", "at_seat", "screen_text"]

NAMES = ("Aldous Prynne", "Beric Stannow", "Calla Wendt", "Dario Felske", "Edda Morcant", "Finn Oberra")


def screen_text(app: Any) -> str:
    """What a person sees, as plain lines. The only private call of Textual in these tests."""
    width, height = app.size
    paper = Console(width=width, height=height, file=StringIO(), force_terminal=True, record=True, legacy_windows=False)
    paper.print(app.screen._compositor.render_update(full=True))
    return "\n".join(line.rstrip() for line in paper.export_text(styles=False).splitlines())


class Seat:
    """One running program. Keys come `gap_ms` apart by the events' own times; nothing waits that long."""

    def __init__(self, app: Any, pilot: Pilot[None], desk: Any) -> None:
        self.app, self.pilot, self.desk = app, pilot, desk
        self.now_ms = 1_000_000.0
        app.now_ms = lambda: self.now_ms

    async def press(self, keys: str | Sequence[str], gap_ms: float = 250, *, settle: bool = True) -> None:
        """Press keys one after the other; afterwards 100 ms pass, so that nothing stays undecided."""
        for key in keys.split() if isinstance(keys, str) else keys:
            self.now_ms += gap_ms
            event = events.Key(key, key if len(key) == 1 else None)
            event.time = self.now_ms / 1000
            event.set_sender(self.app)
            self.app.post_message(event)
        await rest(self.pilot)
        if settle:
            self.now_ms += 100
            await self.idle()

    async def idle(self) -> None:
        """Let what the press filter has not decided yet be decided, and the screen come to rest."""
        for _ in range(100):
            if not self.app.presses.pending:
                return
            await asyncio.sleep(0.02)
            await rest(self.pilot)

    async def names_read(self) -> None:
        """Wait until the catalogue's names are read."""
        for _ in range(500):
            if self.app.names is not None:
                break
            await asyncio.sleep(0.02)
        await rest(self.pilot)

    async def worked(self) -> None:
        """Wait until a page that is worked out in a thread stands there."""
        for _ in range(1500):
            if self.app.screen.found is not None or self.app.screen.wrong:
                break
            await asyncio.sleep(0.02)
        await rest(self.pilot)

    async def type(self, text: str) -> None:
        """Type text, letter by letter."""
        for letter in text:
            self.now_ms += 150
            event = events.Key("space" if letter == " " else letter, letter)
            event.time = self.now_ms / 1000
            event.set_sender(self.app)
            self.app.post_message(event)
        await rest(self.pilot)

    @property
    def text(self) -> str:
        """The screen."""
        return screen_text(self.app)

    def line(self, words: str) -> str:
        """The first line of the screen with these words in it."""
        return next((line for line in self.text.splitlines() if words in line), "")

    @property
    def message(self) -> str:
        """What stands where the tool speaks, on however many lines."""
        where = self.app.screen.query_one(MessageLine).region
        return " ".join(line.strip() for line in self.text.splitlines()[where.y : where.bottom]).strip()


@asynccontextmanager
async def at_seat(
    folder: Path,
    start: Any = "board",
    *,
    size: tuple[int, int] = (80, 24),
    who: str | None = "A1",
    candidates: int = 4,
    names: Sequence[str] = NAMES,
    theme: str = "dark",
    keys: Keys | None = None,
    desk: Any = None,
    **course: Any,
) -> AsyncIterator[Seat]:
    """A small course, somebody at it, and the program running at a size."""
    root = folder / "course"
    if desk is None:
        if not root.exists():
            build_course(root, candidates=candidates, names=names[:candidates], **course)
        desk = open_desk(root, who)
    app = AssessApp(desk, start, theme=theme, keys=keys)
    try:
        async with app.run_test(size=size) as pilot:
            await rest(pilot)
            yield Seat(app, pilot, desk)
    finally:
        desk.close()
