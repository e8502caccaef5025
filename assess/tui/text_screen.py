"""A page of plain lines that is gathered first: a case file, what is kept about a person."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from assess.tui.shown import Content, shown, wrapped
from assess.tui.worked_screen import WorkedScreen

__all__ = ["TextScreen"]


class TextScreen(WorkedScreen):
    """Headings stand out, what is missing is marked; everything else is as it is printed.

    prose: what is indented is sentences, to be wrapped, and no row of a table.
    """

    def __init__(self, place: str, title: str, gather: Callable[[], list[str]], *, prose: bool = False) -> None:
        super().__init__()
        self._prose = prose
        self._place, self._title, self._gather = place, title, gather

    @property
    def place(self) -> str:
        """Where it was opened from."""
        return self._place

    def title_words(self) -> str:
        """What it is about."""
        return self._title

    def work(self, progress: Callable[[float], bool]) -> Any:
        """The lines."""
        return self._gather()

    def page(self, found: list[str], width: int) -> list[Content]:
        """Every line, wrapped."""
        drawn: list[Content] = []
        for line in found:
            indent = len(line) - len(line.lstrip(" "))
            if self._prose and indent:
                drawn += wrapped(line, width, indent=indent)
                continue
            if line.startswith("  "):
                # A row of a table keeps its columns; what does not fit stands in the file itself.
                drawn.append(shown(line, cells=width))
                continue
            style = "bold $mark" if line.startswith("#") else "$warn" if line.startswith("! ") else ""
            drawn += wrapped(line.lstrip("#").strip() if line.startswith("#") else line, width, style)
        return drawn
