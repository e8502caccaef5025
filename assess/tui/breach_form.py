"""A reported breach: three lines for later. The report itself stands already when this opens."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical

from assess.tui.asking import Asked
from assess.tui.line import Line
from assess.tui.shown import Content, joined, lines, shown
from assess.tui.text_line import TextLine

__all__ = ["BreachForm", "Facts"]

CAUTION = "Stop, protect, call patrol first. This can wait."
FIELDS = (("what", "what"), ("where", "where"), ("who", "who at risk"))
Facts = dict[str, str]


class BreachForm(Vertical):
    """Which must-not (a digit), then what, where, who at risk. Enter goes on, Esc leaves the rest for later."""

    DEFAULT_CSS = """
    BreachForm { display: none; height: auto; background: $paper; border-top: solid $bad; padding: 0 1; }
    BreachForm > #caution { color: $bad; text-style: bold; }
    BreachForm > #which { height: auto; }
    BreachForm Horizontal { height: 1; }
    BreachForm Horizontal Line { width: 13; color: $mark; }
    BreachForm > #breach-hint { color: $soft; }
    """

    def __init__(self) -> None:
        super().__init__(id="breach")
        self.can_focus = False
        self.open_now = False
        self.about, self.must_nots = "", tuple[tuple[str, str], ...]()
        self.chosen: str | None = None
        self.answered: Callable[[Any], None] = lambda value: None

    def compose(self) -> ComposeResult:
        """The caution, the must-nots, three lines, and what the keys do."""
        yield Line(shown(CAUTION), ident="caution")
        yield Line(ident="about")
        yield Line(ident="which")
        for key, label in FIELDS:
            yield Horizontal(Line(shown(label)), TextLine(f"breach-{key}"))
        yield Line(ident="breach-hint")

    def on_mount(self) -> None:
        """Enter on a line goes on, Esc leaves."""
        for key, _ in FIELDS:
            self._line(key).pressed = self.press

    async def ask(self, about: str, must_nots: Sequence[tuple[str, str]], known: Facts) -> Facts:
        """What was filled in; empty values stay for later. about: whose report, since when."""
        self.open_now, self.display = True, True
        self.about, self.must_nots, self.chosen = about, tuple(must_nots), known.get("must_not") or None
        self.screen.set_class(True, "-asking")
        for key, _ in FIELDS:
            self._line(key).value = known.get(key, "")
        self.screen.set_focus(None)
        if self.chosen or not self.must_nots:
            self._go_to(0)
        self._draw()
        facts: Facts = await Asked()
        return facts

    @property
    def typing(self) -> bool:
        """True while the keys are text."""
        return self.open_now and isinstance(self.screen.focused, TextLine)

    def facts(self) -> Facts:
        """What stands in the form."""
        given = {key: self._line(key).value.strip() for key, _ in FIELDS}
        return {key: value for key, value in {**given, "must_not": self.chosen or ""}.items() if value}

    def press(self, key: str) -> bool:
        """A key that is not text for one of the lines; False when it means nothing here."""
        if key == "escape":
            self.close()
            return True
        if self.typing:
            return self._among_lines(key)
        if key.isdigit() and 0 < int(key) <= len(self.must_nots):
            self.chosen = self.must_nots[int(key) - 1][0]
            self._go_to(0)
        elif key in ("enter", "down", "tab"):
            self._go_to(0)
        elif len(key) == 1 and key.isalpha():
            self._go_to(0)
            self._line("what").insert_text_at_cursor(key)
        self._draw()
        return True

    def _among_lines(self, key: str) -> bool:
        at = next(index for index, (name, _) in enumerate(FIELDS) if self._line(name).has_focus)
        if key in ("down", "tab", "enter"):
            if at + 1 < len(FIELDS):
                self._go_to(at + 1)
            elif key == "enter":
                self.close()
        elif key == "up":
            self._go_to(max(0, at - 1))
        return True

    def close(self) -> None:
        """End with what stands in the form; the report stays whatever is missing."""
        if not self.open_now:
            return
        facts = self.facts()
        self.open_now, self.display = False, False
        self.screen.set_focus(None)
        self.screen.set_class(False, "-asking")
        self.answered(facts)

    def _line(self, key: str) -> TextLine:
        return self.query_one(f"#breach-{key}", TextLine)

    def _go_to(self, index: int) -> None:
        line = self._line(FIELDS[index][0])
        line.cursor_position = len(line.value)
        self.screen.set_focus(line)

    def _draw(self) -> None:
        width = (self.screen.size.width or 80) - 2
        self.query_one("#about", Line).say(shown(self.about, cells=width))
        self.query_one("#which", Line).say(self._which(width), grow=True)
        hint = "Enter next line · Esc the rest later; the report stands"
        if self.must_nots and not self.chosen:
            hint = "a digit says which · Esc the rest later; the report stands"
        self.query_one("#breach-hint", Line).say(shown(hint, cells=width))

    def _which(self, width: int) -> Content:
        if self.chosen:
            text = dict(self.must_nots).get(self.chosen, self.chosen)
            return joined([shown("which        ", "$mark"), shown(text, "bold", cells=width - 13)])
        return lines(
            [
                joined([shown(f" {index + 1} ", "bold $mark"), shown(text, cells=width - 3)])
                for index, (_, text) in enumerate(self.must_nots)
            ]
        )
