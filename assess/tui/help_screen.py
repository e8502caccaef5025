"""Every act of a place with its keys, from the one table."""

from __future__ import annotations

from collections.abc import Iterable
from textwrap import wrap

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.tui.acts import acts_at
from assess.tui.desk_screen import DeskScreen
from assess.tui.line import Line
from assess.tui.shown import joined, lines, shown

__all__ = ["PLACE_NAMES", "HelpScreen"]

KEYS, TITLE = 10, 19
PLACE_NAMES = {
    "board": "the course board",
    "run": "the run sheet",
    "thin": "the lesson, thin view",
    "full": "the lesson, full view",
    "levels": "the levels of a lesson",
    "readings": "the readings of a lesson",
    "differences": "the differences",
    "cases": "the cases",
    "people": "the people",
    "file": "a page of text",
    "criteria": "the criteria",
    "next": "the next course",
    "assessors": "the assessors",
    "assessor": "one assessor",
    "lock": "before the lock",
    "outcomes": "the outcomes",
    "round": "the calibration round",
    "marker": "one marker of a round",
    "morning": "the morning record",
    "help": "this help",
    "season": "a season of films",
    "film": "a film of your own lesson",
    "pair": "two films side by side",
    "practice": "practice at judging",
}


class HelpScreen(DeskScreen):
    """Keys, titles and a sentence each."""

    DEFAULT_CSS = """
    HelpScreen VerticalScroll { height: 1fr; padding: 0 1; }
    HelpScreen #help-lines { height: auto; text-wrap: wrap; }
    """

    def __init__(self, about: str) -> None:
        super().__init__()
        self.about = about

    @property
    def place(self) -> str:
        """Help itself."""
        return "help"

    def title_words(self) -> str:
        """What it is help for."""
        return f"help: {PLACE_NAMES[self.about]}"

    def body(self) -> Iterable[Widget]:
        """One long list."""
        scroll = VerticalScroll(Line(ident="help-lines"), classes="scrolls")
        scroll.can_focus = False
        yield scroll

    def draw(self) -> None:
        """A line per act: keys, title, what it does; its id is for a keymap."""
        keys = self.assess.keys
        room = max(20, (self.size.width or 80) - KEYS - TITLE - 4)
        drawn = []
        for item in acts_at(self.about):
            told = wrap(item.help, room)
            for index, words in enumerate(told):
                head = (keys.shown(item), item.title) if index == 0 else ("", "")
                drawn.append(
                    joined(
                        [
                            shown(head[0], "bold $mark", cells=KEYS, fill=True),
                            shown(head[1], "bold", cells=TITLE, fill=True),
                            shown(f" {words}", "$soft"),
                        ]
                    )
                )
        drawn.append(shown(""))
        drawn.append(shown("Every act sits on one key without Shift. + lists what the bare pad lacks.", "$soft"))
        drawn.append(shown("Keys can be changed by these names:", "$soft"))
        drawn.append(shown(", ".join(item.id for item in acts_at(self.about)), "$soft"))
        self.query_one("#help-lines", Line).say(lines(drawn), grow=True)
