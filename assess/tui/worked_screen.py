"""A page that has to be worked out first: in a thread, with progress, left at any moment."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterable
from typing import Any

from textual.containers import VerticalScroll
from textual.message import Message
from textual.widget import Widget

from assess.records.errors import AssessError
from assess.tui.desk_screen import DeskScreen
from assess.tui.line import Line
from assess.tui.shown import Content, lines, shown, wrapped

__all__ = ["WorkedScreen"]

STEPS = 20


class Worked(Message, bubble=False):
    """How far the work is, or how it ended: with what was found, a refusal, or a fault of the program."""

    def __init__(self, share: float, found: Any = None, refused: str = "", fault: Exception | None = None) -> None:
        super().__init__()
        self.share, self.found, self.refused, self.fault = share, found, refused, fault


class WorkedScreen(DeskScreen):
    """Leaving it stops the work: the next step of it is told to end."""

    DEFAULT_CSS = """
    WorkedScreen #worked-scroll { height: 1fr; padding: 0 1; }
    WorkedScreen #worked { height: auto; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.found: Any = None
        self.wrong = ""
        self.share = 0.0
        self.left = False

    # --- what a page gives ---------------------------------------------------------------------

    def work(self, progress: Callable[[float], bool]) -> Any:
        """What is shown; called in a thread. Raises AssessError with what to say instead."""
        raise NotImplementedError

    def page(self, found: Any, width: int) -> list[Content]:
        """The lines of what was found."""
        raise NotImplementedError

    # --- frame ---------------------------------------------------------------------------------

    def body(self) -> Iterable[Widget]:
        """One page that scrolls."""
        scroll = VerticalScroll(Line(ident="worked"), id="worked-scroll", classes="scrolls")
        scroll.can_focus = False
        yield scroll

    def on_mount(self) -> None:
        """Begin to work it out."""
        super().on_mount()
        self.begin()

    def begin(self) -> None:
        """Work it out, also once more after something was written; what is shown stays until then."""
        # A daemon and not a worker: whoever leaves the program meanwhile waits for nothing.
        threading.Thread(target=self._work, name=self.place, daemon=True).start()

    def on_unmount(self) -> None:
        """Whoever left waits for nothing."""
        self.left = True

    def _work(self) -> None:
        try:
            ended = Worked(1.0, self.work(self._progress))
        except AssessError as error:
            ended = Worked(1.0, refused=error.sentence)
        except Exception as fault:
            # Work that was told to stop ends like this too; then nobody is there to be told.
            ended = Worked(1.0, fault=fault)
        self._tell(ended)

    def _progress(self, share: float) -> bool:
        if int(STEPS * share) > int(STEPS * self.share):
            self._tell(Worked(share))
        return not self.left

    def _tell(self, news: Worked) -> None:
        # The loop may close between asking and posting.
        with contextlib.suppress(RuntimeError):
            if not self.left:
                self.post_message(news)

    def on_worked(self, news: Worked) -> None:
        """Show how far it is, or what came of it; a fault of the program is one here as anywhere."""
        if news.fault is not None and not self.left:
            raise news.fault
        self.share, self.found, self.wrong = news.share, news.found, news.refused
        self.draw()

    def draw(self) -> None:
        """The page, or how far the work is."""
        width = max(30, (self.size.width or 80) - 4)
        if self.wrong:
            drawn = wrapped(self.wrong, width, "$warn")
        elif self.found is None:
            drawn = [shown(f"working it out: {100 * self.share:.0f} % done; Esc stops it", "$soft")]
        else:
            drawn = self.page(self.found, width)
        self.query_one("#worked", Line).say(lines(drawn), grow=True)

    def act_back(self, key: str) -> None:
        """Leave it; the work stops."""
        self.left = True
        super().act_back(key)
