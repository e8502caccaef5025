"""A document as plain lines, for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.reports.document import Listing, Note, Picture, Section, Table, Text

if TYPE_CHECKING:
    from assess.reports.document import Block, Document

__all__ = ["as_lines"]

WIDTH = 100
_SIGN = {"missing": "! ", "caution": "! ", "words": '" '}


def as_lines(document: Document) -> Iterator[str]:
    """Title, then section by section; tables in columns, of a picture its table."""
    yield document.title
    yield document.about
    yield f"{document.audience}; {document.dated}"
    for section in document.sections:
        yield from _section(section, 0)
    yield ""
    yield from document.closing


def _section(section: Section, depth: int) -> Iterator[str]:
    yield ""
    yield ("## " if depth else "# ") + section.title
    for block in section.blocks:
        yield from _block(block)
    for inner in section.sections:
        yield from _section(inner, depth + 1)


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Text):
        yield from textwrap.wrap(block.text, WIDTH)
    elif isinstance(block, Note):
        yield from textwrap.wrap(block.text, WIDTH, initial_indent=_SIGN[block.kind], subsequent_indent="  ")
    elif isinstance(block, Listing):
        for number, item in enumerate(block.items, 1):
            sign = f"{number}. " if block.ordered else "- "
            yield from textwrap.wrap(item, WIDTH, initial_indent=sign, subsequent_indent="  ")
    elif isinstance(block, Picture):
        yield from _table(block.table)
    elif isinstance(block, Table):
        yield from _table(block)


def _table(table: Table) -> Iterator[str]:
    if not table.rows:
        yield f"{table.caption}: none"
        return
    rows = [table.columns, *table.rows]
    widths = [max(len(row[place]) for row in rows) for place in range(len(table.columns))]
    yield table.caption
    for row in rows:
        cells = [
            cell.rjust(width) if place in table.numbers else cell.ljust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  " + "  ".join(cells).rstrip()
