"""The sign that says whether all that was typed is on the disk, in words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from assess.tui.line import Line
from assess.tui.shown import Content, shown

__all__ = ["SaveSign", "Saving", "sign_words"]


class Saving(Protocol):
    """What the desk says of its writing: `saved`, `writing` or `not saved`, how many wait, since when, why."""

    @property
    def word(self) -> str:
        """`saved`, `writing` or `not saved`."""

    @property
    def waiting(self) -> int:
        """How many entries wait."""

    @property
    def at(self) -> str | None:
        """When the last entry reached the disk."""

    @property
    def why(self) -> str:
        """Why they wait."""


def sign_words(state: Saving, clock_text: Callable[[str], str]) -> str:
    """`saved 10:02:19`, `writing`, `NOT SAVED 3`."""
    if state.word == "not saved":
        return f"NOT SAVED {state.waiting}"
    if state.word == "writing":
        return "writing"
    return f"saved {clock_text(state.at)}" if state.at else "saved"


class SaveSign(Line):
    """At the right of the title: turns only after the disk answered; keys never wait for it."""

    DEFAULT_CSS = """
    SaveSign { width: 16; background: $bar; color: $bar-ink; }
    SaveSign.-trouble { background: $bad; color: $paper; text-style: bold; }
    """

    def __init__(self) -> None:
        super().__init__(ident="saved")

    def show(self, state: Saving, clock_text: Callable[[str], str]) -> None:
        """Show a state of saving."""
        self.set_class(state.word == "not saved", "-trouble")
        self.say(self._content(sign_words(state, clock_text)))

    @staticmethod
    def _content(words: str) -> Content:
        return shown(f"{words:>15} ", cells=16)
