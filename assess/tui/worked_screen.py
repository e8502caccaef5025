"""A page that has to be worked out first: in a thread, with progress, left at any moment."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.records.errors import AssessError
from assess.tui.desk_screen import DeskScreen
from assess.tui.line import Line
from assess.tui.shown import Content, lines, shown, wrapped

__all__ = ["WorkedScreen"]


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
        self.run_worker(self._work, thread=True, exclusive=True, exit_on_error=False)

    def on_unmount(self) -> None:
        """Whoever left waits for nothing."""
        self.left = True

    def _work(self) -> None:
        try:
            found = self.work(self._progress)
        except AssessError as error:
            self._show_from_thread(None, error.sentence)
            return
        if not self.left:
            self._show_from_thread(found, "")

    def _progress(self, share: float) -> bool:
        if not self.left and int(20 * share) > int(20 * self.share):
            self.share = share
            self.app.call_from_thread(self.draw)
        return not self.left

    def _show_from_thread(self, found: Any, wrong: str) -> None:
        self.found, self.wrong = found, wrong
        if not self.left:
            self.app.call_from_thread(self.draw)

    def draw(self) -> None:
        """The page, or how far the work is."""
        width = max(30, (self.size.width or 80) - 4)
        if self.wrong:
            drawn = wrapped(self.wrong, width, "$warn")
        elif self.found is None:
            drawn = [shown(f"working it out ... {self.share:.0%}; Esc leaves it", "$soft")]
        else:
            drawn = self.page(self.found, width)
        self.query_one("#worked", Line).say(lines(drawn), grow=True)

    def act_back(self, key: str) -> None:
        """Leave it; the work stops."""
        self.left = True
        super().act_back(key)
