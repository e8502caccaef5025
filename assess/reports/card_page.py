"""Cards as one page: on paper four A6 or two A5 to a sheet of A4, with cut marks; on a screen one below another.

Black on white on both.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from assess.reports.card_words import CardWords
from assess.reports.library import library
from assess.reports.palette import printed_css
from assess.reports.templating import TEMPLATES, environment

if TYPE_CHECKING:
    from assess.reports.cards import CardSet

__all__ = ["PER_SHEET", "cards_html", "qr_picture"]

PER_SHEET = {"a6": 4, "a5": 2}


def cards_html(cards: CardSet, language: str = "en") -> str:
    """The page: nothing is loaded from anywhere, every text is text. The same cards give the same bytes.

    Raises UsageError for a language there is not.
    """
    from assess.reports.messages import messages

    texts = messages(language)
    style = printed_css() + (TEMPLATES / "cards.css").read_text(encoding="utf-8")
    most = PER_SHEET[cards.size]
    sheets = [cards.cards[start : start + most] for start in range(0, len(cards.cards), most)]
    page: str = _template().render(
        cards=cards, sheets=sheets, words=CardWords(texts), language=language, style=style,
        dated=texts.day(cards.dated) if cards.dated else "", qr=lambda card: qr_picture(card.code),
    )  # fmt: skip
    return page


def qr_picture(code: str) -> str:
    """A QR code as the address of an SVG picture with one path, to stand in a page."""
    import io

    with library("segno", "a card with its QR code"):
        import segno

    drawn = io.BytesIO()
    segno.make(code, error="m", micro=False).save(drawn, kind="svg", border=4, xmldecl=False, svgns=True, nl=False)
    svg = drawn.getvalue().decode("ascii")
    for sign, percent in (("%", "%25"), ("#", "%23"), ("<", "%3C"), (">", "%3E"), ('"', "%22")):
        svg = svg.replace(sign, percent)
    return f"data:image/svg+xml,{svg}"


@cache
def _template() -> Any:
    return environment().get_template("cards.html")
