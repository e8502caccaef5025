"""Numbers and sentences as people read them in a terminal of 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence

__all__ = ["WIDTH", "cautions", "interval", "many", "number", "paragraphs", "percent"]

WIDTH = 79


def number(value: float | None, digits: int = 2) -> str:
    """`0.41`, or `-` where there is none; never `-0.00`."""
    if value is None:
        return "-"
    shown = f"{value:.{digits}f}"
    return shown[1:] if float(shown) == 0 and shown.startswith("-") else shown


def interval(ends: tuple[float, float] | None, digits: int = 2) -> str:
    """`0.20 to 0.47`, or `-` where there is none."""
    return "-" if ends is None else f"{number(ends[0], digits)} to {number(ends[1], digits)}"


def many(n: int, word: str) -> str:
    """`1 assessor`, `4 assessors`."""
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


def percent(share: float | None) -> str:
    """`62 %`, or `-` where there is none."""
    return "-" if share is None else f"{100 * share:.0f} %"


def paragraphs(sentences: Iterable[str], before: str = "") -> Iterator[str]:
    """Every sentence on lines of its own, the lines after the first indented; each sentence once."""
    # An id or a path is never torn apart, so that it can be copied; nor is a number from its `%`.
    wrapper = textwrap.TextWrapper(
        WIDTH,
        initial_indent=before,
        subsequent_indent=" " * len(before),
        break_long_words=False,
        break_on_hyphens=False,
    )
    for sentence in dict.fromkeys(sentences):
        for line in wrapper.wrap(sentence.replace(" %", "\u2060%")):
            yield line.replace("\u2060%", " %")


def cautions(warnings: Sequence[str]) -> Iterator[str]:
    """The list of what to be careful about, with its title; nothing without any."""
    if warnings:
        yield ""
        yield "Take care:"
        yield from paragraphs(warnings, "- ")
