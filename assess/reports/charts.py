"""Pictures of numbers as SVG, each with its table: dots with intervals, how often, and over time.

Rows of one kind share a scale; candidates, assessors, criteria and steps never stand on one together. The labels of
rows are the reader's text, in any script: they are no part of the SVG but text of the page, laid beside it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.reports.document import Label, Picture, Table
from assess.reports.palette import LIGHT

if TYPE_CHECKING:
    from assess.reports.drawing import Drawing

__all__ = ["Dot", "Point", "counts", "dots", "over_time"]

WIDTH, ROW = 389.0, 21.6
"""Points: the width of a picture where nothing else is said, the height of its rows; both grow and shrink together."""
WORD = 9.0
"""Points: how large the words of such a picture are; a narrower one has smaller ones."""
LONGEST = 26
"""So many cells of a label are shown, about; the table has it whole."""
CELL = 0.66
"""How wide a cell of a label is, as a part of the size of its words."""


@dataclass(frozen=True, slots=True)
class Dot:
    """A row of `dots`: a number, its ends if it has any, and what it rests on (`12 sheets`). None: not known."""

    label: str
    value: float | None
    ends: tuple[float, float] | None = None
    rests_on: str = ""


@dataclass(frozen=True, slots=True)
class Point:
    """A number on a day. at: days since the first one; day: as it is written in the table."""

    at: float
    day: str
    value: float
    rests_on: str = ""


@dataclass(frozen=True, slots=True)
class _Scale:
    """Where numbers from low to high stand between two places, in points."""

    low: float
    high: float
    first: float
    last: float

    def at(self, value: float) -> float:
        return self.first + (value - self.low) / (self.high - self.low) * (self.last - self.first)


def dots(
    rows: Sequence[Dot],
    *,
    caption: str,
    alt: str,
    axis: str,
    names: str,
    line: tuple[float, str] | None = None,
    scale: tuple[float, float] | None = None,
    digits: int = 2,
    signed: bool = False,
    width: float = WIDTH,
) -> Picture:
    """A row for each: a dot with its interval on one scale; line: a value to compare with, and its word.

    axis: what the numbers are, with their unit. names: what the rows are. scale: its ends; else made to fit.
    width: points it is made for. Rows without a number are in the table alone. The same rows give the same bytes.
    """
    from assess.reports.drawing import drawing

    known = [row for row in rows if row.value is not None]
    size = _size(width)
    row = ROW * width / WIDTH
    top, low = 2 * size, 2 * size + row * max(1, len(known))
    left = size + CELL * size * max([min(LONGEST, _cells_of(item.label)) for item in known], default=0)
    across = _Scale(*(scale or _fitting(known, line)), left + 0.8 * size, width - 1.5 * size)
    downs = [top + row * (place + 0.5) for place in range(len(known))]
    with drawing(width, low + 3.6 * size) as drawn:
        drawn.line([(left, top), (left, low)], LIGHT["rule"], 0.8)
        _bottom(drawn, across, low, left, axis)
        _rows(drawn, across, known, downs)
        if line is not None:
            at = across.at(line[0])
            drawn.line([(at, top - 0.3 * size), (at, low)], LIGHT["alarm"], 1.5, (6, 3))
            drawn.word((at, top - 0.7 * size), line[1], LIGHT["alarm"], size)
        svg = drawn.svg()
    shape = f"{{:{'+' if signed else ''}.{digits}f}}"
    table = tuple((item.label, *_cells(item, shape), item.rests_on or "-") for item in rows)
    ends = (left - 0.7 * size) / width
    labels = tuple(Label(item.label, down / drawn.height, ends) for item, down in zip(known, downs, strict=True))
    columns = (names, "Value", "95 % interval", "Rests on")
    return Picture(svg, alt, Table(caption, columns, table, frozenset({1})), labels, width, size)


def counts(labels: Sequence[str], numbers: Sequence[int], *, caption: str, alt: str, axis: str, names: str) -> Picture:
    """A column for each label, as high as its number, which stands above it. names, axis: what both are."""
    from assess.reports.drawing import drawing

    top, low, left = 2 * WORD, 130.0, 2 * WORD
    across = _Scale(0, max(1, len(labels)), left, WIDTH - WORD)
    up = _Scale(0, max([*numbers, 1]), low, top)
    wide = min(0.6 * (across.at(1) - across.at(0)), 4 * WORD)
    with drawing(WIDTH, low + 3.6 * WORD) as drawn:
        for place, (label, number) in enumerate(zip(labels, numbers, strict=True)):
            middle = across.at(place + 0.5)
            drawn.bar(middle - wide / 2, up.at(number), wide, low - up.at(number), LIGHT["line"])
            drawn.word((middle, up.at(number) - 3), str(number), LIGHT["ink"], WORD)
            drawn.word((middle, low + 1.4 * WORD), label, LIGHT["ink"], WORD)
        drawn.line([(left, low), (across.last, low)], LIGHT["rule"], 0.8)
        drawn.word(((left + across.last) / 2, low + 3 * WORD), f"{names}; {axis}", LIGHT["ink"], WORD)
        svg = drawn.svg()
    rows = tuple((label, str(number)) for label, number in zip(labels, numbers, strict=True))
    return Picture(svg, alt, Table(caption, (names, axis), rows, frozenset({1})), (), WIDTH)


def over_time(points: Sequence[Point], *, caption: str, alt: str, axis: str, top: float | None = None) -> Picture:
    """A dot for each day, from 0 up. The line between them joins what was seen; it is no forecast."""
    from assess.reports.drawing import drawing

    high, low, left = 2.4 * WORD, 150.0, 4 * WORD
    across = _Scale(*_room([point.at for point in points]), left, WIDTH - WORD)
    up = _Scale(0, top or max([*(point.value for point in points), 1.0]) * 1.15, low, high)
    places = [(across.at(point.at), up.at(point.value)) for point in points]
    days = points if len(points) <= 5 else (points[0], points[-1])
    with drawing(WIDTH, low + 2.4 * WORD) as drawn:
        _sides(drawn, across, up, [(day.at, day.day) for day in days], axis)
        if len(places) > 1:
            drawn.line(places, LIGHT["line"], 1.5)
        drawn.marks("o", places, LIGHT["line"], 6)
        svg = drawn.svg()
    rows = tuple((point.day, f"{point.value:.2f}", point.rests_on or "-") for point in points)
    return Picture(svg, alt, Table(caption, ("Day", "Value", "Rests on"), rows, frozenset({1})), (), WIDTH)


def _size(width: float) -> float:
    """The size of words in a picture of this width."""
    return max(7.0, WORD * min(1.0, width / WIDTH))


def _fitting(rows: Sequence[Dot], line: tuple[float, str] | None) -> tuple[float, float]:
    """Ends of a scale that holds every number, with some room."""
    every = [number for row in rows for number in (row.value, *(row.ends or ())) if number is not None]
    every += [line[0]] if line else []
    low, high = min(every, default=0.0), max(every, default=1.0)
    edge = 0.05 * (high - low) or 0.5
    return low - edge, high + edge


def _room(at: Sequence[float]) -> tuple[float, float]:
    low, high = min(at, default=0.0), max(at, default=0.0)
    edge = max(1.0, 0.12 * (high - low))
    return low - edge, high + edge


def _bottom(drawn: Drawing, across: _Scale, low: float, left: float, axis: str) -> None:
    """The scale below the rows: its line, its numbers, what they are."""
    from assess.reports.drawing import ticks

    size = _size(drawn.width)
    drawn.line([(left, low), (across.last, low)], LIGHT["rule"], 0.8)
    for value, written in ticks(across.low, across.high, 6):
        at = across.at(value)
        drawn.line([(at, low), (at, low + 3.5)], LIGHT["rule"], 0.8)
        drawn.word((at, low + 3.5 + size), written, LIGHT["ink"], size)
    drawn.word(((left + across.last) / 2, low + 3.2 * size), axis, LIGHT["ink"], size)


def _rows(drawn: Drawing, across: _Scale, rows: Sequence[Dot], downs: Sequence[float]) -> None:
    size = _size(drawn.width)
    ends: list[tuple[float, float]] = []
    for row, down in zip(rows, downs, strict=True):
        if row.ends is not None:
            interval = [(across.at(end), down) for end in row.ends]
            drawn.line(interval, LIGHT["line"], 2)
            ends += interval
    drawn.marks("|", ends, LIGHT["line"], 0.8 * size)
    middles = [(across.at(row.value or 0.0), down) for row, down in zip(rows, downs, strict=True)]
    drawn.marks("o", middles, LIGHT["line"], 0.7 * size)


def _sides(drawn: Drawing, across: _Scale, up: _Scale, days: Sequence[tuple[float, str]], axis: str) -> None:
    """The two scales of a picture over time: numbers on the left and what they are above, days below."""
    from assess.reports.drawing import ticks

    left, low, high = across.first, up.first, up.last
    drawn.line([(left, high), (left, low), (across.last, low)], LIGHT["rule"], 0.8)
    drawn.word((0, high - 1.2 * WORD), axis, LIGHT["ink"], WORD, "start")
    for value, written in ticks(0, up.high, 5):
        drawn.line([(left - 3.5, up.at(value)), (left, up.at(value))], LIGHT["rule"], 0.8)
        drawn.word((left - 6, up.at(value) + 0.35 * WORD), written, LIGHT["ink"], WORD, "end")
    for at, day in days:
        drawn.line([(across.at(at), low), (across.at(at), low + 3.5)], LIGHT["rule"], 0.8)
        drawn.word((across.at(at), low + 1.6 * WORD), day, LIGHT["ink"], WORD)


def _cells(row: Dot, shape: str) -> tuple[str, str]:
    if row.value is None:
        return "not known", "-"
    return _plain(shape, row.value), " to ".join(_plain(shape, end) for end in row.ends) if row.ends else "none"


def _plain(shape: str, value: float) -> str:
    """Never `-0.00`."""
    shown = shape.format(value)
    return shape.format(0.0) if float(shown) == 0 else shown


def _cells_of(text: str) -> int:
    return sum(2 if unicodedata.east_asian_width(char) in "WF" else not unicodedata.combining(char) for char in text)
