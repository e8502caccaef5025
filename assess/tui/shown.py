"""The one road of text to a widget: as typed, controls as pictures, cut and padded by terminal cells."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from rich.cells import cell_len, set_cell_size, split_graphemes, split_text
from textual.content import Content

from assess.records.text import pictured

__all__ = ["NOTHING", "Content", "cells_of", "changed_cells", "first_cells", "joined", "lines", "shown", "wrapped"]

NOTHING = Content("")
ELLIPSIS = "…"
LEFT_TO_RIGHT = "\u200e"


def shown(text: str, style: str = "", *, cells: int | None = None, fill: bool = False) -> Content:
    """Text as it is: brackets stay, control characters become pictures, combining marks stay with their letter.

    cells: at most so many terminal cells, cut with an ellipsis; fill: padded to exactly that many.
    A word written from right to left is closed off, or a terminal that reorders such words
    would carry the digits behind it to its other side.
    """
    safe = pictured(text)
    if cells is not None:
        safe = first_cells(safe, cells)
    width = cell_len(safe)
    if any(unicodedata.bidirectional(char) in ("R", "AL") for char in safe):
        safe += LEFT_TO_RIGHT
    if fill and cells is not None:
        safe += " " * (cells - width)
    return Content.styled(safe, style)


def wrapped(text: str, width: int, style: str = "", *, indent: int = 0, most: int = 0) -> list[Content]:
    """The text on as many lines as it needs, broken between words by terminal cells; each line `width` cells at most.

    indent: blanks before each line. most: so many lines; the last is then cut with an ellipsis.
    """
    room = max(8, width - indent)
    rows = [""]
    for word in text.split():
        longer = f"{rows[-1]} {word}".strip()
        if cell_len(longer) <= room or not rows[-1]:
            rows[-1] = longer
        else:
            rows.append(word)
    if most and len(rows) > most:
        rows = [*rows[: most - 1], " ".join(rows[most - 1 :])]
    return [shown(" " * indent + first_cells(row, room), style) for row in rows]


def first_cells(text: str, cells: int) -> str:
    """The text cut to at most `cells` terminal cells, with an ellipsis where something was left out."""
    if cells <= 0:
        return ""
    if cell_len(text) <= cells:
        return text
    if cells == 1:
        return ELLIPSIS
    head = split_text(text, cells - 1)[0] if cell_len(text) > cells - 1 else text
    # A wide letter that does not fit is left out whole, never replaced by half of it.
    if cell_len(head) > cells - 1:
        head = set_cell_size(head, cells - 1)
    return head.rstrip() + ELLIPSIS


Unit = tuple[str, int, tuple[object, ...]]


def _units(content: Content) -> list[Unit]:
    """Letters with what is combined with them, their cells, and their styles."""
    plain = content.plain
    styles: list[tuple[object, ...]] = [()] * len(plain)
    for span in content.spans:
        for index in range(span.start, min(span.end, len(plain))):
            styles[index] = (*styles[index], span.style)
    if plain.isascii():
        return [(char, 1, style) for char, style in zip(plain, styles, strict=True)]
    return [(plain[start:end], cells, styles[start]) for start, end, cells in split_graphemes(plain)[0]]


def changed_cells(old: Content, new: Content) -> tuple[int, int] | None:
    """From where to where two one-line texts look different: first cell and number of cells; None when all may.

    (0, 0) when they look the same. The compositor paints one stretch per line, so one is told.
    """
    if "\n" in old.plain or "\n" in new.plain:
        return None
    before, after = _units(old), _units(new)
    if [unit[1] for unit in before] != [unit[1] for unit in after]:
        return None
    differing = [index for index, (was, now) in enumerate(zip(before, after, strict=True)) if was != now]
    if not differing:
        return (0, 0)
    first = sum(unit[1] for unit in after[: differing[0]])
    return first, sum(unit[1] for unit in after[differing[0] : differing[-1] + 1])


def cells_of(text: str) -> int:
    """How many terminal cells the text takes as shown."""
    return cell_len(pictured(text))


def joined(parts: Iterable[Content], between: str = "") -> Content:
    """Pieces of shown text on one line."""
    return Content(between).join(parts)


def lines(parts: Iterable[Content]) -> Content:
    """Pieces of shown text, each on its own line."""
    return Content("\n").join(parts)
