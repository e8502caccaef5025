"""A document as one HTML file: nothing is loaded from anywhere, every text is text."""

from __future__ import annotations

import re
from functools import cache
from html import escape
from typing import TYPE_CHECKING, Any, Literal

from assess.reports.palette import palette_css
from assess.reports.templating import TEMPLATES, environment

if TYPE_CHECKING:
    from assess.reports.document import Document, Table

__all__ = ["Setting", "as_html"]

Setting = Literal["", "roomy", "close", "tight"]

_DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}\b", re.ASCII)
SENTENCE = 48
"""A cell with more characters than these holds a sentence."""
NAME = 16
"""A first cell with more characters than these holds a whole name."""


def as_html(document: Document, style: str = "", setting: Setting = "") -> str:
    """The page: UTF-8 HTML with its style sheet inside, for print and screen, light and dark.

    style: a further style sheet of the templates, by its name (`letter`), laid over that of every page; setting: how
    close that one sets it on paper.
    The same document gives the same bytes. Texts are escaped, control and direction characters shown as pictures.
    """
    sheets = [(TEMPLATES / f"{name}.css").read_text(encoding="utf-8") for name in ("page", style) if name]
    page: str = _template().render(document=document, setting=setting, style=palette_css() + "".join(sheets))
    return page


@cache
def _template() -> Any:
    made = environment()
    made.filters["told"] = _told
    made.filters["long"] = _long
    made.filters["name"] = _name
    made.tests["kind"] = lambda block, name: type(block).__name__ == name
    return made.get_template("page.html")


def _long(table: Table) -> frozenset[int]:
    """The columns that hold whole sentences, which are given room."""
    return frozenset(
        place for place in range(1, len(table.columns)) if max(len(row[place]) for row in table.rows) > SENTENCE
    )


def _name(table: Table) -> bool:
    """Whether the first column holds more than a short id, and is given room for it."""
    return max(len(row[0]) for row in table.rows) > NAME


def _told(text: str) -> str:
    """Text between tags, escaped: as `_shown`, and a date is never torn apart."""
    return _DATE.sub(r'<span class="whole">\g<0></span>', escape(_shown(text)))


def _shown(text: str) -> str:
    from assess.records.text import pictured

    return pictured(text)
