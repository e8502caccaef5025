"""One box of a card in the tray: a key fills it, Enter leaves it empty, some keys add a stroke and ask on."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from assess.tui.asking import Answer
from assess.tui.shown import Content, lines, shown

__all__ = ["EMPTY", "UNDO", "BoxAsk"]

EMPTY, UNDO = "left empty", "undo"


class BoxAsk:
    """answers: key -> value. strokes: key -> what it does at once. Enter answers EMPTY, u UNDO, Esc None."""

    typing = False

    def __init__(
        self,
        title: Callable[[], str],
        answers: Mapping[str, Any],
        about: Sequence[str],
        strokes: Mapping[str, Callable[[], object]] | None = None,
    ) -> None:
        self._title, self.answers, self.about, self.strokes = title, answers, tuple(about), strokes or {}

    @property
    def title(self) -> str:
        """The box and what is in it so far."""
        return self._title()

    def press(self, key: str) -> Answer | bool:
        """A digit that is none of the answers does nothing; any other key leaves the card for its own act."""
        if key in self.strokes:
            self.strokes[key]()
            return True
        if key in self.answers:
            return Answer(self.answers[key])
        found = {"escape": Answer(), "enter": Answer(EMPTY), "u": Answer(UNDO), "asterisk": Answer(UNDO)}.get(key)
        return found or key.isdigit()

    def body(self, width: int) -> Content:
        """What the keys mean."""
        return lines([shown(line, "$soft", cells=width) for line in self.about])
