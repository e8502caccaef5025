"""What the tray can ask, without a widget: a numbered list, a number, a line of text, a name by its first letters."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from assess.tui.shown import NOTHING, Content, cells_of, joined, lines, shown

__all__ = ["Answer", "Ask", "Asked", "LateEnter", "ListAsk", "NumberAsk", "Option", "SearchAsk", "TextAsk"]

PAGE = 9
LEAVING = frozenset({"escape", "minus"})


@dataclass(frozen=True)
class Option:
    """A line of a list: the words, what choosing it gives, a remark behind, and what else it is found by."""

    words: str
    value: Any
    remark: str = ""
    also: str = ""


@dataclass(frozen=True)
class Answer:
    """The end of an ask; `value` is None when it was left."""

    value: Any = None


class Asked:
    """Awaiting it gives a screen's act over to whoever answers; the key that answers runs the rest of the act.

    No task stands between the two: a digit typed right after a bib number finds the bib already there.
    """

    def __await__(self) -> Generator[None, Any, Any]:
        """Wait for the answer."""
        return (yield)


class Ask(Protocol):
    """One question in the tray."""

    typing: bool

    @property
    def title(self) -> str:
        """The question."""

    def press(self, key: str) -> Answer | bool:
        """An Answer ends it; True: understood, ask on; False: not a key of this question."""

    def body(self, width: int) -> Content:
        """The lines under the title."""


class ListAsk:
    """A numbered list: a digit picks, 0 turns to the next nine, arrows and Enter work too."""

    typing = False

    def __init__(self, title: str, options: Sequence[Option]) -> None:
        self.title, self.options = title, tuple(options)
        self.first, self.at = 0, 0

    def _page(self) -> tuple[Option, ...]:
        return self.options[self.first : self.first + PAGE]

    def press(self, key: str) -> Answer | bool:
        """A digit, an arrow, Enter, or a key that leaves."""
        if key in LEAVING:
            return Answer()
        if key == "0" and len(self.options) > PAGE:
            self.first = self.first + PAGE if self.first + PAGE < len(self.options) else 0
            self.at = 0
            return True
        if key in ("up", "down"):
            self.at = (self.at + (1 if key == "down" else -1)) % len(self._page())
            return True
        if key == "enter":
            return Answer(self._page()[self.at].value)
        if key.isdigit():
            chosen = int(key) - 1
            return Answer(self._page()[chosen].value) if 0 <= chosen < len(self._page()) else True
        return False

    def body(self, width: int) -> Content:
        """A line per option, and how to see more."""
        page = self._page()
        widest = max((cells_of(option.words) for option in page if option.remark), default=0)
        aside = max((cells_of(option.remark) for option in page), default=0)
        column = min(widest, max(width * 3 // 5, width - 6 - aside))
        drawn = []
        for index, option in enumerate(page):
            head = shown(f"{'>' if index == self.at else ' '}{index + 1} ", "bold $mark")
            words = shown(option.words, "$ink", cells=column if option.remark else width - 4, fill=bool(option.remark))
            room = width - 6 - column
            remark = shown(f"  {option.remark}", "$soft", cells=room) if option.remark else NOTHING
            drawn.append(joined([head, words, remark]))
        if len(self.options) > PAGE:
            pages = -(-len(self.options) // PAGE)
            drawn.append(shown(f" 0 more ({self.first // PAGE + 1} of {pages})", "$mark"))
        return lines(drawn)


class NumberAsk:
    """A number; it ends by itself once no longer one could be meant, or only with Enter.

    A number nobody has is taken whole: its second digit must not fall through and become a mark. With `enter`
    a number that is none of `known` is not taken, and Enter never falls through and becomes a lock.
    """

    typing = False

    def __init__(self, title: str, known: Sequence[int], remark: str = "", *, enter: bool = False) -> None:
        self.label, self.remark, self.enter = title, remark, enter
        self.known = tuple(str(number) for number in known)
        self.digits = ""

    @property
    def title(self) -> str:
        """The question with what is typed so far."""
        return f"{self.label} {self.digits}_"

    def press(self, key: str) -> Answer | bool:
        """Digits, Enter, Backspace, or a key that leaves."""
        if key in LEAVING:
            return Answer()
        if key == "enter" and self.enter and self.digits not in self.known:
            self.digits = ""
            return True
        if key == "enter":
            return Answer(int(self.digits) if self.digits else None)
        if key == "backspace":
            self.digits = self.digits[:-1]
            return True
        if not key.isdigit() or len(key) > 1:
            return False
        longest = max(len(number) for number in self.known) if self.known else 1
        if self.enter:
            self.digits = (self.digits + key)[-longest:]
            return True
        self.digits += key
        longer = any(number.startswith(self.digits) and number != self.digits for number in self.known)
        meant = self.digits in self.known and not longer
        return Answer(int(self.digits)) if meant or len(self.digits) >= longest else True

    def body(self, width: int) -> Content:
        """What the number is about."""
        return shown(self.remark, "$soft", cells=width)


class LateEnter:
    """Enter typed out of habit after a number that was taken with its last digit: it opens no page and ends no note.

    Where boxes follow one another it is no habit but an answer: that box is left empty.
    """

    def __init__(self) -> None:
        self._due = False

    def answered(self, ask: Ask | None, key: str) -> None:
        """A question was answered with a key; a number by a digit may be followed by an Enter."""
        self._due = isinstance(ask, NumberAsk) and key.isdigit()

    def is_it(self, key: str) -> bool:
        """True when this key is that Enter; any other key says that none comes."""
        due, self._due = self._due, False
        return due and key == "enter"


class TextAsk:
    """A line of text; Enter ends it, Esc leaves it with what was typed kept as a draft."""

    typing = True

    def __init__(self, title: str, draft: str = "", remark: str = "") -> None:
        self.title, self.text, self.remark = title, draft, remark

    def press(self, key: str) -> Answer | bool:
        """Only Enter and Esc; all else is text."""
        if key == "escape":
            return Answer()
        return Answer(self.text) if key == "enter" else False

    def body(self, width: int) -> Content:
        """What the line is for."""
        return shown(self.remark, "$soft", cells=width)


class SearchAsk:
    """Something by its first letters: the matches stand below, arrows choose, Enter takes; free text if allowed."""

    typing = True
    SHOWN = 6

    def __init__(
        self, title: str, options: Sequence[Option], *, free: Callable[[str], Any] | None = None, remark: str = ""
    ) -> None:
        self.title, self.options, self.free, self.remark = title, tuple(options), free, remark
        self.text, self.at = "", 0

    def matches(self) -> list[Option]:
        """Options that begin so, then those with a word that does; last the text as typed, if it may be taken."""
        want = self.text.casefold().strip()
        if not want:
            return list(self.options)[: self.SHOWN]
        heads = [item for item in self.options if item.words.casefold().startswith(want)]
        words = [
            item
            for item in self.options
            if item not in heads
            and any(word.startswith(want) for word in f"{item.words} {item.also} {item.remark}".casefold().split())
        ]
        same = any(item.words.casefold() == want for item in heads)
        own = [Option(f"as typed: {self.text.strip()}", self.free(self.text))] if self.free and not same else []
        return [*heads, *words][: self.SHOWN - len(own)] + own

    def offer(self, options: Sequence[Option]) -> None:
        """More options, read in the meantime."""
        self.options = (*self.options, *options)

    def typed(self, text: str) -> None:
        """The text as it stands now."""
        self.text, self.at = text, 0

    def press(self, key: str) -> Answer | bool:
        """Arrows choose; Enter takes the chosen match, or the text itself where that is allowed."""
        found = self.matches()
        if key == "escape":
            return Answer()
        if key in ("up", "down") and found:
            self.at = (self.at + (1 if key == "down" else -1)) % len(found)
            return True
        if key == "enter":
            return Answer(found[self.at].value) if found else True
        return False

    def body(self, width: int) -> Content:
        """The matches, or what Enter does when there is none."""
        found = self.matches()
        longest = max((cells_of(item.words) for item in found), default=0)
        names = min(max(28, longest), max(28, width * 3 // 5))
        drawn = [
            joined(
                [
                    shown("> " if index == self.at else "  ", "bold $mark"),
                    shown(item.words, "$ink", cells=names, fill=bool(item.remark)),
                    shown(f"  {item.remark}" if item.remark else "", "$soft", cells=max(0, width - 3 - names)),
                ]
            )
            for index, item in enumerate(found)
        ]
        if not found:
            drawn.append(shown("  type it out" if self.free and not self.text else "  nothing begins so", "$soft"))
        return lines(drawn)
