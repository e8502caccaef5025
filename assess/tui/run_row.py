"""A candidate's line on the run sheet, repainted alone, and the line over the rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.tui.line import Line
from assess.tui.run_layout import LineState, RunLayout, draw_head, draw_row
from assess.tui.shown import NOTHING, Content

if TYPE_CHECKING:
    from assess.desk.run_sheet import Row

__all__ = ["HeadRow", "RunRow"]


class RunRow(Line):
    """One line; `show` repaints it only when something on it changed."""

    DEFAULT_CSS = """
    RunRow { background: $paper; color: $ink; }
    """

    def __init__(self) -> None:
        super().__init__()
        self._last: tuple[RunLayout, Row, LineState] | None = None

    def show(self, layout: RunLayout, row: Row, state: LineState) -> None:
        """Show a row as it stands."""
        now = (layout, row, state)
        if now == self._last:
            return
        self._last = now
        self.say(draw_row(layout, row, state))


class HeadRow(Line):
    """The criteria over their cells."""

    DEFAULT_CSS = """
    HeadRow { background: $paper; color: $soft; }
    """

    def show(self, layout: RunLayout | None, labels: tuple[str, ...]) -> None:
        """Show the labels; without a layout nothing."""
        drawn: Content = draw_head(layout, labels, None) if layout else NOTHING
        self.say(drawn)
