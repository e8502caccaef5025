"""What the levels of a criterion mean: three lines, one descriptor each, or all of them in full."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll

from assess.tui.line import Line
from assess.tui.shown import Content, cells_of, joined, lines, shown

__all__ = ["LevelsPanel", "all_levels", "three_levels"]

LABEL_MOST = 15
Descriptors = tuple[tuple[int, str], ...]


def three_levels(descriptors: Descriptors, given: int | None, room: int) -> list[Content]:
    """Three lines of exactly `room` cells: the level given (marked, in bold) and its neighbours.

    Each line is of one style: every change of style costs some forty bytes on the line to a far terminal.
    """
    return [
        shown(
            f"{'>' if level == given else ' '}{level} {text}",
            "bold" if level == given else "$soft",
            cells=room,
            fill=True,
        )
        for level, text in descriptors
    ]


def all_levels(label: str, question: str, descriptors: Descriptors, given: int | None) -> Content:
    """Every level in full, and the question the criterion asks."""
    drawn = [joined([shown(label, "bold $mark"), shown(f"  {question}", "$soft")])]
    for level, text in descriptors:
        here = level == given
        head = shown(f"{'>' if here else ' '}{level} ", "bold $mark")
        drawn.append(joined([head, shown(text, "bold" if here else "")]))
    return lines(drawn)


class LevelsPanel(Vertical):
    """The panel under the rows. It changes with every mark, so it is three cut lines unless all are asked for."""

    DEFAULT_CSS = """
    LevelsPanel { height: 4; border-top: solid $soft; background: $paper; color: $ink; }
    LevelsPanel > Horizontal { height: 3; }
    LevelsPanel #panel-label { width: 15; height: 3; }
    LevelsPanel > VerticalScroll { display: none; height: auto; }
    LevelsPanel #panel-all { height: auto; text-wrap: wrap; padding: 0 1; }
    LevelsPanel.-all { height: auto; max-height: 70%; }
    LevelsPanel.-all > Horizontal { display: none; }
    LevelsPanel.-all > VerticalScroll { display: block; max-height: 100%; }
    """

    def __init__(self) -> None:
        super().__init__(id="levels")
        self.can_focus = False
        self._aside = LABEL_MOST

    def compose(self) -> ComposeResult:
        """The label at the left of three lines; one growing text for all levels."""
        yield Horizontal(Line(ident="panel-label"), Vertical(*(Line(classes="panel-line") for _ in range(3))))
        scroll = VerticalScroll(Line(ident="panel-all"), classes="scrolls")
        scroll.can_focus = False
        yield scroll

    def show_three(
        self, label: str, descriptors: Descriptors, given: int | None, width: int, labels: Sequence[str]
    ) -> None:
        """Three levels, cut to the width; labels: all that may stand at the left, so that nothing moves."""
        self.set_class(False, "-all")
        aside = min(LABEL_MOST, 2 + max(map(cells_of, labels)))
        head = self.query_one("#panel-label", Line)
        if self._aside != aside:
            head.styles.width = self._aside = aside
        head.say(shown(f" {label}", "bold $mark", cells=aside - 1, fill=True))
        told = three_levels(descriptors, given, max(10, width - aside))
        blank = shown("", cells=max(10, width - aside), fill=True)
        for line, content in zip(self.query(".panel-line").results(Line), [*told, blank, blank, blank], strict=False):
            line.say(content)

    def show_all(self, label: str, question: str, descriptors: Descriptors, given: int | None) -> None:
        """Every level in full."""
        self.set_class(True, "-all")
        self.query_one("#panel-all", Line).say(all_levels(label, question, descriptors, given), grow=True)
