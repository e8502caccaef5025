"""What a page says, before it is a page: a title, sections, and in them paragraphs, lists, tables and pictures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Block", "Document", "Label", "Listing", "Note", "Picture", "Section", "Table", "Text"]


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True)
class Note:
    """A paragraph that stands out: something missing, something to be careful with, or in somebody's own words."""

    text: str
    kind: Literal["missing", "caution", "words"] = "caution"


@dataclass(frozen=True, slots=True)
class Listing:
    """A list. ordered: its order means something."""

    items: tuple[str, ...]
    ordered: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table: what it shows (`caption`), its columns, its rows; the first cell of a row names the row.

    numbers: which columns hold numbers, counted from 0; they stand to the right.
    """

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Label:
    """The name of a row of a drawing, set as text of the page: its middle so far `down`, its end so far `across`.

    Both as shares of the drawing, 0 to 1.
    """

    text: str
    down: float
    across: float


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing as SVG text, what it shows in words, and the same as a table for whoever cannot see it.

    labels: the names of its rows. width: points it is drawn for, never shown wider. size: points of its words.
    """

    svg: str
    alt: str
    table: Table
    labels: tuple[Label, ...] = ()
    width: float = 389.0
    size: float = 9.0


Block = Text | Note | Listing | Table | Picture


@dataclass(frozen=True, slots=True)
class Section:
    """A heading, what stands under it, and the sections inside it (two levels at most)."""

    title: str
    blocks: tuple[Block, ...] = ()
    sections: tuple[Section, ...] = ()


@dataclass(frozen=True, slots=True)
class Document:
    """A whole page.

    about: the line under the title. audience: who it is for, printed on it. dated: the day of the record it is
    made from, as `2026-02-10`; never today's. closing: small print at the end.
    """

    title: str
    about: str
    audience: str
    dated: str
    sections: tuple[Section, ...]
    language: str = "en"
    closing: tuple[str, ...] = ()
