"""A document as one PDF that a screen reader can follow: tagged, with its language and title (ISO 14289-1, PDF/UA-1).

Made by WeasyPrint from the same HTML as the page; nothing is loaded from anywhere, and the same document gives the
same bytes on the same machine (its fonts are part of the file).
"""

from __future__ import annotations

import logging
import re
import unicodedata
from dataclasses import replace
from functools import cache
from html import escape
from typing import TYPE_CHECKING, Any

from assess.records.errors import LibraryTrouble
from assess.records.text import pictured
from assess.reports.document import Picture
from assess.reports.library import library
from assess.reports.page import as_html

if TYPE_CHECKING:
    from assess.reports.document import Document, Section
    from assess.reports.page import Setting

__all__ = ["UntaggedPage", "as_pdf", "html_as_pdf", "page_count"]

_SVG = re.compile(r"<svg\b[^>]*>")
_PAGES = re.compile(rb"/Type\s*/Page\b(?!s)")


class UntaggedPage(ValueError):
    """A page that would claim what it is not: without language or title, or with something WeasyPrint complained of."""


def as_pdf(document: Document, style: str = "", setting: Setting = "") -> bytes:
    """The document as PDF/UA-1 bytes; style, setting: as for the page.

    Raises UntaggedPage without title or language.
    """
    titled = replace(document, sections=tuple(map(_titled, document.sections)))
    return html_as_pdf(as_html(titled, style, setting))


def _titled(section: Section) -> Section:
    """The section with the words for every picture inside it, where WeasyPrint looks for them."""
    blocks = tuple(_with_title(block) if isinstance(block, Picture) else block for block in section.blocks)
    return replace(section, blocks=blocks, sections=tuple(map(_titled, section.sections)))


def _with_title(picture: Picture) -> Picture:
    opened = _SVG.search(picture.svg)
    if opened is None or "<title" in picture.svg[opened.end() : opened.end() + 40]:
        return picture
    title = f"<title>{escape(pictured(picture.alt), quote=False)}</title>"
    return replace(picture, svg=picture.svg[: opened.end()] + title + picture.svg[opened.end() :])


def html_as_pdf(html: str) -> bytes:
    """A whole HTML page as PDF/UA-1 bytes; its identifier comes from the page itself, no date is written.

    A sign no font here has (an emoji, mostly) is told by its name in Unicode, in brackets, instead of an empty box.
    Raises UntaggedPage where WeasyPrint logs an error: it writes a file that claims PDF/UA all the same.
    Raises LibraryTrouble on a machine without Pango.
    """
    raw, told = _set(html)
    if signs := {sign: words for sign in told.signs if (words := _in_words(sign)) is not None}:
        for sign, words in sorted(signs.items()):
            html = html.replace(sign, words)
        raw, told = _set(html)
    if told.said:
        raise UntaggedPage("; ".join(told.said))
    return raw


def _set(html: str) -> tuple[bytes, _Told]:
    """The page as a file, and what was told about it."""
    import hashlib

    weasyprint = _weasyprint()
    told = _Told()
    logger = logging.getLogger("weasyprint")
    logger.addHandler(told)
    try:
        page = weasyprint.HTML(string=html, url_fetcher=_no_net()()).render(pdf_variant="pdf/ua-1")
        identifier = hashlib.sha256(html.encode("utf-8")).digest()[:16]
        raw: bytes = page.write_pdf(pdf_variant="pdf/ua-1", pdf_identifier=identifier)
    finally:
        logger.removeHandler(told)
    if not (page.metadata.title or "").strip():
        told.said.append("the page has no title")
    return raw, told


def _in_words(sign: str) -> str | None:
    """A symbol by its name, a tone of skin by nothing; None for a letter, whose name would say nothing to a reader."""
    kind = unicodedata.category(sign)
    if kind == "Sk":
        return ""
    name = unicodedata.name(sign, "")
    return f"[{name.lower()}]" if kind == "So" and name else None


def _weasyprint() -> Any:
    """WeasyPrint. Raises LibraryTrouble where it, or the libraries of the system that set its text, cannot be used."""
    try:
        with library("weasyprint", "a PDF", instead="letters and pages come also as --html"):
            import weasyprint
    except LibraryTrouble as trouble:
        if not isinstance(trouble.__cause__, OSError):
            raise
        packages = "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"
        todo = f"install it (on Debian: {packages}); letters and pages also as --html"
        raise LibraryTrouble("a PDF needs Pango, which this machine does not have", todo=todo) from trouble
    return weasyprint


def page_count(pdf: bytes) -> int:
    """How many pages a file of `as_pdf` has."""
    import zlib

    found = len(_PAGES.findall(pdf))
    for packed in re.findall(rb"/ObjStm[^>]*>>\s*stream\r?\n(.*?)endstream", pdf, re.S):
        found += len(_PAGES.findall(zlib.decompressobj().decompress(packed)))
    return found


class _Told(logging.Handler):
    """What WeasyPrint logged: said, its errors, in words; signs, the characters no font has."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []
        self.signs: set[str] = set()

    def emit(self, record: logging.LogRecord) -> None:
        if record.levelno >= logging.ERROR:
            self.said.append(record.getMessage())
        elif "notdef" in str(record.msg) and isinstance(record.args, tuple):
            self.signs |= {sign for sign in record.args if isinstance(sign, str) and len(sign) == 1}


@cache
def _no_net() -> Any:
    import weasyprint.urls

    class NoNet(weasyprint.urls.URLFetcher):  # type: ignore[misc]
        """Opens what stands in the page itself; no network, no file."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            if url.startswith("data:"):
                return super().fetch(url, headers)
            raise ValueError(f"not loaded: {url[:80]}")

    return NoNet
