"""Light widgets: ready text, repainted alone. Nothing on a marking screen is heavier than these."""

from __future__ import annotations

from typing import ClassVar

from textual.geometry import Region
from textual.widget import Widget

from assess.tui.shown import NOTHING, Content, changed_cells, joined, lines, shown, wrapped

__all__ = ["KeyLine", "Line", "MessageLine", "TooSmall"]


class Line(Widget):
    """One line (or a few) of text made by `shown`; saying the same again costs nothing."""

    DEFAULT_CSS = """
    Line { height: 1; width: 1fr; text-wrap: nowrap; text-overflow: clip; }
    """
    ALLOW_SELECT: ClassVar[bool] = False

    def __init__(self, content: Content = NOTHING, *, ident: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=ident, classes=classes)
        self.content_now = content

    def say(self, content: Content, *, grow: bool = False) -> None:
        """Show other text; `grow`: the number of lines may have changed."""
        if content.is_same(self.content_now):
            return
        was, self.content_now = self.content_now, content
        part = None if grow or self.gutter.width or self.gutter.height else changed_cells(was, content)
        if part is None or not self.size:
            self.refresh(layout=grow)
        elif part[1]:
            # Over a slow line every cell that is not sent again counts.
            self.refresh(Region(part[0], 0, part[1], 1))

    def render(self) -> Content:
        """The text as it stands."""
        return self.content_now


class MessageLine(Line):
    """The one place where the tool speaks: what was done, what was refused, what to do; a long sentence wraps."""

    DEFAULT_CSS = """
    MessageLine { height: auto; min-height: 1; max-height: 4; padding: 0 1; background: $paper; color: $ink; }
    """
    MOST_LINES: ClassVar[int] = 4
    text, kind = "", ""
    _rows = 1
    STYLES: ClassVar[dict[str, str]] = {"": "$ink", "good": "$good", "warn": "bold $warn", "bad": "bold $bad"}

    def tell(self, text: str, kind: str = "") -> None:
        """Say a sentence; kind: good, warn, bad or nothing."""
        self.text, self.kind = text, kind
        self._draw()

    def on_resize(self) -> None:
        """Cut the sentence to the new width."""
        self._draw()

    def _draw(self) -> None:
        told = wrapped(self.text, self.size.width or 78, self.STYLES[self.kind], most=self.MOST_LINES)
        self.say(lines(told), grow=len(told) != self._rows)
        self._rows = len(told)


class KeyLine(Line):
    """The keys of this screen, as many as fit."""

    DEFAULT_CSS = """
    KeyLine { background: $bar; color: $bar-ink; padding: 0 1; }
    """

    def __init__(self) -> None:
        super().__init__(ident="keys")
        self.items: tuple[tuple[str, str], ...] = ()

    def show(self, items: tuple[tuple[str, str], ...]) -> None:
        """Show pairs of key and title."""
        self.items = items
        self.refresh()

    def render(self) -> Content:
        """Whole items only, the last two (more, help) always; what does not fit is in the help."""
        drawn = [joined([shown(key, "bold"), shown(f" {title}")]) for key, title in self.items]
        kept, last = drawn[:-2], drawn[-2:]
        while kept and sum(item.cell_length + 2 for item in (*kept, *last)) - 2 > self.size.width:
            kept.pop()
        return joined([*kept, *last], "  ")


class TooSmall(Line):
    """Covers the screen while the window is smaller than what can be marked on safely."""

    LEAST = (60, 20)
    DEFAULT_CSS = """
    TooSmall {
        layer: over; display: none; width: 100%; height: 100%; text-wrap: wrap;
        background: $paper; color: $ink; content-align: center middle; text-align: center;
    }
    """

    def fit(self, width: int, height: int) -> bool:
        """Cover the screen or not, by its size; True when it is covered."""
        small = width < self.LEAST[0] or height < self.LEAST[1]
        if small:
            need = f"This window is {width} by {height}; assess needs {self.LEAST[0]} by {self.LEAST[1]}."
            self.say(shown(f"{need} No key does anything until it is larger."), grow=True)
        self.display = small
        return small
