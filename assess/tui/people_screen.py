"""Who stands in this course, and what is kept about each."""

from __future__ import annotations

from collections.abc import Iterable

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.tui.desk_screen import DeskScreen
from assess.tui.line import Line
from assess.tui.shown import joined, lines, shown
from assess.tui.text_screen import TextScreen

__all__ = ["PeopleScreen"]


class PeopleScreen(DeskScreen):
    """Candidates, assessors, directors, learners; Enter shows what is kept about one."""

    DEFAULT_CSS = """
    PeopleScreen #people { height: 1fr; padding: 0 1; }
    PeopleScreen #people-lines { height: auto; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.at = 0

    @property
    def place(self) -> str:
        """The people."""
        return "people"

    def title_words(self) -> str:
        """What this is."""
        return "people · what is kept about each"

    def body(self) -> Iterable[Widget]:
        """One list."""
        scroll = VerticalScroll(Line(ident="people-lines"), id="people", classes="scrolls")
        scroll.can_focus = False
        yield scroll

    @property
    def _everybody(self) -> list[tuple[str, str, str]]:
        people = self.desk.people
        return [
            *((each.id, each.name, "candidate") for each in people.candidates),
            *((each.id, each.name, "assessor") for each in people.assessors),
            *((each.id, each.name, each.role or "director") for each in people.directors),
            *((each.id, each.alias, f"learner, {each.kind}") for each in people.learners),
        ]

    def draw(self) -> None:
        """The list, the chosen one marked."""
        drawn = []
        for number, (ident, name, role) in enumerate(self._everybody):
            here = number == self.at
            drawn.append(
                joined(
                    [
                        shown(f"{'>' if here else ' '} {ident:<6}", "bold $mark"),
                        shown(name, "bold" if here else "", cells=32, fill=True),
                        shown(role, "$soft"),
                    ]
                )
            )
        self.query_one("#people-lines", Line).say(lines(drawn), grow=True)
        self.query_one("#people", VerticalScroll).scroll_to(y=max(0, self.at - 8), animate=False)

    # --- acts ----------------------------------------------------------------------------------

    def act_up(self, key: str) -> None:
        """The person before."""
        self.at = max(0, self.at - 1)
        self.draw()

    def act_down(self, key: str) -> None:
        """The person after."""
        self.at = min(max(0, len(self._everybody) - 1), self.at + 1)
        self.draw()

    def act_open(self, key: str) -> None:
        """What is kept about this person."""
        from assess.desk.person_lines import person_lines

        ident, name, _ = self._everybody[self.at]
        self.app.push_screen(TextScreen("file", f"{name} ({ident})", lambda: list(person_lines(self.desk, ident))))
