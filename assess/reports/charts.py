"""Pictures of numbers as SVG, each with its table: dots with intervals, how often, and over time.

Rows of one kind share a scale; candidates, assessors, criteria and steps never stand on one together. Labels are the
reader's text: they are put in after drawing, so that any script can be shown and none is read as a formula.
"""

from __future__ import annotations

import hashlib
import html
import io
import re
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from assess.records.text import pictured
from assess.reports.document import Picture, Table
from assess.reports.library import library
from assess.reports.palette import LIGHT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Dot", "Point", "counts", "dots", "over_time"]

WIDTH, ROW, AROUND = 5.4, 0.3, 0.85
"""Inches: the width of a picture, the height of a row, what stands above and below the rows."""
LONGEST = 26
"""So many cells of a label are shown; the table has it whole."""
CELL = 0.083
"""Inches a cell of a label takes."""


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
) -> Picture:
    """A row for each: a dot with its interval on one scale; line: a value to compare with, and its word.

    axis: what the numbers are, with their unit. names: what the rows are. scale: its ends; else made to fit.
    Rows without a number are in the table alone. The same rows give the same bytes.
    """
    shape = f"{{:{'+' if signed else ''}.{digits}f}}"
    known = [row for row in rows if row.value is not None]
    labels = [row.label for row in known]
    with _drawing(WIDTH, AROUND + ROW * max(1, len(known)), _left(labels)) as (figure, axes):
        for place, row in enumerate(known):
            if row.ends is not None:
                axes.plot(row.ends, (place, place), color=LIGHT["line"], linewidth=2, marker="|", markersize=7)
            axes.plot([row.value or 0.0], [place], color=LIGHT["line"], marker="o", markersize=6)
        if line is not None:
            axes.axvline(line[0], color=LIGHT["alarm"], linewidth=1.5, linestyle=(0, (4, 2)))
            axes.text(line[0], -0.85, "word", color=LIGHT["alarm"], ha="center", va="bottom", fontsize=9)
        if scale is not None:
            axes.set_xlim(*scale)
        axes.set_ylim(max(1, len(known)) - 0.4, -0.7)
        axes.set_yticks(range(len(known)), [f"row-{place}-" for place in range(len(known))])
        axes.set_xlabel("axis-", color=LIGHT["ink"])
    texts = {f"row-{place}-": _cut(label) for place, label in enumerate(labels)} | {"axis-": axis}
    svg = _svg(figure, texts | ({"word": line[1]} if line else {}))
    table = tuple((row.label, *_cells(row, shape), row.rests_on or "-") for row in rows)
    columns = (names, "Value", "95 % interval", "Rests on")
    return Picture(svg, alt, Table(caption, columns, table, frozenset({1})))


def counts(labels: Sequence[str], numbers: Sequence[int], *, caption: str, alt: str, axis: str, names: str) -> Picture:
    """A column for each label, as high as its number, which stands above it. names, axis: what both are."""
    with _drawing(WIDTH, 2.3, 0.6) as (figure, axes):
        axes.bar(range(len(labels)), numbers, color=LIGHT["line"], width=0.6)
        for place, number in enumerate(numbers):
            axes.annotate(str(number), (place, number), (0, 2), textcoords="offset points", ha="center", va="bottom",
                          color=LIGHT["ink"])  # fmt: skip
        axes.set_xticks(range(len(labels)), [f"row-{place}-" for place in range(len(labels))])
        axes.set_yticks([])
        axes.set_ylim(0, max([*numbers, 1]) * 1.2)
        axes.set_xlabel("axis-", color=LIGHT["ink"])
    texts = {f"row-{place}-": _cut(label) for place, label in enumerate(labels)} | {"axis-": f"{names}; {axis}"}
    rows = tuple((label, str(number)) for label, number in zip(labels, numbers, strict=True))
    return Picture(_svg(figure, texts), alt, Table(caption, (names, axis), rows, frozenset({1})))


def over_time(points: Sequence[Point], *, caption: str, alt: str, axis: str, top: float | None = None) -> Picture:
    """A dot for each day, from 0 up. The line between them joins what was seen; it is no forecast."""
    with _drawing(WIDTH, 2.6, 0.75) as (figure, axes):
        axes.plot([point.at for point in points], [point.value for point in points], color=LIGHT["line"],
                  linewidth=1.5, marker="o", markersize=6)  # fmt: skip
        axes.set_ylim(0, top or max([*(point.value for point in points), 1.0]) * 1.15)
        days = points if len(points) <= 5 else (points[0], points[-1])
        axes.set_xticks([point.at for point in days], [f"row-{place}-" for place in range(len(days))])
        axes.set_ylabel("axis-", color=LIGHT["ink"])
        axes.set_xlim(*_room([point.at for point in points]))
    texts = {f"row-{place}-": point.day for place, point in enumerate(days)} | {"axis-": axis}
    rows = tuple((point.day, f"{point.value:.2f}", point.rests_on or "-") for point in points)
    return Picture(_svg(figure, texts), alt, Table(caption, ("Day", "Value", "Rests on"), rows, frozenset({1})))


def _room(at: Sequence[float]) -> tuple[float, float]:
    low, high = min(at, default=0.0), max(at, default=0.0)
    edge = max(1.0, 0.12 * (high - low))
    return low - edge, high + edge


def _cells(row: Dot, shape: str) -> tuple[str, str]:
    if row.value is None:
        return "not known", "-"
    return _plain(shape, row.value), " to ".join(_plain(shape, end) for end in row.ends) if row.ends else "none"


def _plain(shape: str, value: float) -> str:
    """Never `-0.00`."""
    shown = shape.format(value)
    return shape.format(0.0) if float(shown) == 0 else shown


def _width(text: str) -> int:
    return sum(2 if unicodedata.east_asian_width(char) in "WF" else not unicodedata.combining(char) for char in text)


def _cut(text: str) -> str:
    """The label by its cells, cut with a sign."""
    if _width(text) <= LONGEST:
        return text
    kept = ""
    for char in text:
        if _width(kept + char) >= LONGEST:
            break
        kept += char
    return f"{kept}…"


def _left(labels: Sequence[str]) -> float:
    return 0.25 + CELL * max([_width(_cut(label)) for label in labels], default=0)


@contextmanager
def _drawing(width: float, height: float, left: float) -> Iterator[tuple[Figure, Axes]]:
    """A figure with one pair of axes, `left` inches from its edge, plain and without a background."""
    with library("matplotlib", "a page with a chart"):
        from matplotlib import rc_context
        from matplotlib.figure import Figure

    with rc_context(_SETTINGS):
        figure = Figure(figsize=(width, height))
        axes = figure.add_axes((left / width, 0.45 / height, (width - left - 0.2) / width, (height - 0.65) / height))
        axes.patch.set_visible(False)
        figure.patch.set_visible(False)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
        yield figure, axes


_SETTINGS: Any = {
    "svg.fonttype": "none", "svg.hashsalt": "assess", "font.family": "DejaVu Sans", "font.size": 9,
    "text.parse_math": False, "axes.edgecolor": LIGHT["rule"], "axes.unicode_minus": True, "text.color": LIGHT["ink"],
    "xtick.color": LIGHT["rule"], "ytick.color": LIGHT["rule"],
    "xtick.labelcolor": LIGHT["ink"], "ytick.labelcolor": LIGHT["ink"],
}  # fmt: skip


def _svg(figure: Figure, texts: dict[str, str]) -> str:
    """The figure as an SVG element to stand in a page: no date, ids of its own, the texts in their places."""
    from matplotlib import rc_context

    raw = io.BytesIO()
    with rc_context(_SETTINGS):
        figure.savefig(raw, format="svg", metadata=dict.fromkeys(("Date", "Creator", "Format", "Type")))
    svg = raw.getvalue().decode("utf-8")
    # Its style sheet would reach the whole page.
    svg = re.sub(r"\s*<defs>\s*<style.*?</style>\s*</defs>", "", svg[svg.index("<svg") :], count=1, flags=re.DOTALL)
    for key, text in texts.items():
        svg = svg.replace(f">{key}</text>", f">{html.escape(pictured(text))}</text>")
    mark = "c" + hashlib.sha256(svg.encode("utf-8")).hexdigest()[:8]
    svg = re.sub(r'\bid="', f'id="{mark}-', svg)
    svg = re.sub(r'href="#', f'href="#{mark}-', svg)
    return svg.replace("url(#", f"url(#{mark}-").strip()
