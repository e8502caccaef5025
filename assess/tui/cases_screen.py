"""Appeals and complaints: what is due next and until when; Enter opens the file of one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.records.errors import Refusal
from assess.tui.desk_screen import DeskScreen
from assess.tui.line import Line
from assess.tui.shown import joined, lines, shown
from assess.tui.text_screen import TextScreen

if TYPE_CHECKING:
    from assess.desk.cases import Case

__all__ = ["CasesScreen"]


class CasesScreen(DeskScreen):
    """The register above, and below it the candidates, whose whole record can be opened too."""

    DEFAULT_CSS = """
    CasesScreen #cases { height: 1fr; padding: 0 1; }
    CasesScreen #cases-lines { height: auto; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self.found: tuple[Case, ...] = ()

    @property
    def place(self) -> str:
        """The cases."""
        return "cases"

    def title_words(self) -> str:
        """How many are open."""
        still = sum(case.state != "closed" for case in self.found)
        return f"cases · {still} open; nothing here decides"

    def body(self) -> Iterable[Widget]:
        """One list."""
        scroll = VerticalScroll(Line(ident="cases-lines"), id="cases", classes="scrolls")
        scroll.can_focus = False
        yield scroll

    def draw(self) -> None:
        """Ask the desk again and show it."""
        from assess.desk.cases import cases

        self.found = cases(self.desk)
        self._show()
        self.refresh_frame()

    @property
    def _rows(self) -> list[tuple[str, str]]:
        """(case, candidate) of every line; a candidate's own record has no case."""
        return [
            *((case.id, case.candidate) for case in self.found),
            *(("", who) for who in self.desk.course.candidates),
        ]

    def _show(self) -> None:
        drawn = [] if self.found else [shown("no appeal and no complaint", "$soft")]
        states = {case.id: case for case in self.found}
        for number, (name, who) in enumerate(self._rows):
            if number == len(self.found):
                drawn += [shown(""), shown("the whole record of a candidate", "bold $mark")]
            sign = shown("> " if number == self.at else "  ", "bold $mark")
            words = f"{self.desk.bib(who):>4} {self.desk.name(who)}"
            if not name:
                drawn.append(joined([sign, shown(words, "bold" if number == self.at else "")]))
                continue
            case = states[name]
            due = f"  {case.due} until {case.until}" if case.due else ""
            late = shown("  overdue", "bold $bad") if case.overdue else shown("")
            head = shown(f"{name:<8}{words}  {case.opened.about}, {case.state}", "bold" if number == self.at else "")
            drawn.append(joined([sign, head, shown(due, "$warn"), late]))
        self.query_one("#cases-lines", Line).say(lines(drawn), grow=True)

    # --- acts ----------------------------------------------------------------------------------

    def act_up(self, key: str) -> None:
        """The line before."""
        self.at = max(0, self.at - 1)
        self._show()

    def act_down(self, key: str) -> None:
        """The line after."""
        self.at = min(max(0, len(self._rows) - 1), self.at + 1)
        self._show()

    def act_open(self, key: str) -> None:
        """The file of this case, or of this candidate."""
        if not self._rows:
            raise Refusal("there is nobody to look up", todo="see the candidates in course.yaml")
        name, who = self._rows[self.at]
        title = f"case {name}" if name else f"the record of {self.desk.name(who)}"
        self.app.push_screen(TextScreen("file", title, lambda: _file(self, name, who)))


def _file(screen: CasesScreen, name: str, who: str) -> list[str]:
    from assess.desk.case_page import case_lines
    from assess.desk.case_record import case_record
    from assess.desk.cases import case_of

    case = case_of(screen.desk, name) if name else None
    return list(case_lines(case_record(screen.desk, who, case)))
