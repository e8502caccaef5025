"""The morning record: lines copied by hand from whoever publishes them; blocks nothing."""

from __future__ import annotations

from collections.abc import Iterable

from textual.containers import VerticalScroll
from textual.widget import Widget

from assess.desk.day_book import MORNING_LABELS
from assess.records.errors import Refusal
from assess.tui.desk_screen import DeskScreen
from assess.tui.line import Line
from assess.tui.shown import joined, lines, shown

__all__ = ["MorningScreen"]

CAUTION = (
    "Copied from the official bulletin and from patrol. Nothing here says that it is safe; signs and patrol go first."
)


class MorningScreen(DeskScreen):
    """Arrows or a digit choose a line, Enter writes it, Enter again keeps it and goes on to the next."""

    DEFAULT_CSS = """
    MorningScreen #morning { height: auto; padding: 0 1; }
    MorningScreen #caution { height: auto; padding: 0 1; color: $warn; text-wrap: wrap; }
    MorningScreen #morning-scroll { height: 1fr; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self.fields = tuple(MORNING_LABELS)

    @property
    def place(self) -> str:
        """The morning."""
        return "morning"

    def title_words(self) -> str:
        """Of which day."""
        return f"morning record · {self.desk.today()}"

    def body(self) -> Iterable[Widget]:
        """The lines and the caution."""
        scroll = VerticalScroll(Line(ident="morning"), id="morning-scroll", classes="scrolls")
        scroll.can_focus = False
        yield scroll
        yield Line(ident="caution")

    def draw(self) -> None:
        """Every line with what is recorded."""
        known = self.desk.day_book.morning()
        width = self.size.width or 80
        drawn = []
        for index, field in enumerate(self.fields):
            here = index == self.at
            number = str(index + 1) if index < 9 else " "
            value = known.get(field, "")
            drawn.append(
                joined(
                    [
                        shown(f"{'>' if here else ' '}{number} ", "bold $mark"),
                        shown(MORNING_LABELS[field], "bold" if here else "$soft", cells=30, fill=True),
                        shown(value or "-", "bold" if value else "$soft", cells=max(8, width - 36)),
                    ]
                )
            )
        self.query_one("#morning", Line).say(lines(drawn), grow=True)
        self.query_one("#morning-scroll").scroll_to(y=max(0, self.at - 3), animate=False)
        told = [shown(sentence, "$ink") for sentence in self.desk.day_book.told_of_the_morning()]
        self.query_one("#caution", Line).say(lines([shown(CAUTION), *told]), grow=True)

    def act_up(self, key: str) -> None:
        """The line before."""
        self.at = max(0, self.at - 1)
        self.draw()

    def act_down(self, key: str) -> None:
        """The line after."""
        self.at = min(len(self.fields) - 1, self.at + 1)
        self.draw()

    async def act_line(self, key: str) -> None:
        """Write the line with this number."""
        self.at = int(key) - 1
        self.draw()
        await self.act_write(key)

    async def act_write(self, key: str) -> None:
        """Write the chosen line, then the next, until Esc."""
        while True:
            field = self.fields[self.at]
            draft = self.desk.day_book.morning().get(field, "")
            given = await self.tray.text(f"{MORNING_LABELS[field]}:", draft, "Enter keeps it and goes on; Esc ends")
            if given is None:
                return
            if given.strip() and given.strip() != draft and not self._recorded(field, given.strip()):
                continue
            if self.at + 1 == len(self.fields):
                self.draw()
                return
            self.at += 1
            self.draw()

    def _recorded(self, field: str, value: str) -> bool:
        """Record a line; False, with the reason said, for a value that cannot be: then the same line is asked again."""
        try:
            self.desk.day_book.record_morning(**{field: value})
        except Refusal as error:
            self.refused(error)
            return False
        self.tell("")
        self.show_saving()
        return True
