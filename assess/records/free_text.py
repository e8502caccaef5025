"""What free text should not hold: telephone numbers, addresses of people, health words, names.

A look at the text and no more: what is found may be meant, and nothing is refused. GDPR, articles 5(1)(c) and 9.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

__all__ = ["CONTACT_KEYS", "not_for_a_record"]

CONTACT_KEYS = frozenset({"patrol", "radio", "meeting_point", "first_aid", "bulletin_source"})
"""Keys of the morning that are there to hold numbers to call: they are not looked at."""

_EMAIL = re.compile(r"[^\s@<>(),;:]+@[^\s@<>(),;:]+\.[A-Za-z]{2,}")
# With a leading + or 0, or in groups of three, three and four.
_PHONE = re.compile(
    r"(?<![\w.,:/+-])(?:\+\d{1,3}|0\d)(?:[ ()/.-]{0,2}\d){6,12}(?!\w|[.,:/-]\d)"
    r"|(?<![\w.,:/-])\(?\d{3}\)?[ .-]\d{3}[ .-]\d{4}(?![\w-])"
)
_DATE = re.compile(r"\d{1,2}[./-]\d{1,2}[./-]\d{2,4}|\d{4}-\d\d-\d\d")
_NUMBERS = "names and numbers of people stand in people.yaml alone"


def not_for_a_record(text: str, health_words: Iterable[str]) -> str:
    """One sentence about the first thing in a text that does not belong into a record; "" when there is none.

    health_words: as `words_of` reads them, lower case; `*` at the end stands for any ending.
    """
    email = _EMAIL.search(text)
    if email:
        return f"`{email[0]}` looks like an e-mail address: {_NUMBERS}"
    phone = _PHONE.search(_DATE.sub(lambda found: "x" * len(found[0]), text))
    if phone:
        return f"`{text[phone.start() : phone.end()]}` looks like a telephone number: {_NUMBERS}"
    words = _pattern(tuple(health_words))
    health = words.search(text) if words else None
    if health:
        return f"`{health[0]}` is a word about health: record facts, times and who was called, no medical detail"
    return ""


@lru_cache(maxsize=8)
def _pattern(words: tuple[str, ...]) -> re.Pattern[str] | None:
    ways = [re.escape(word[:-1]) + r"\w*" if word.endswith("*") else re.escape(word) for word in words]
    return re.compile(rf"(?<!\w)(?:{'|'.join(ways)})(?!\w)", re.IGNORECASE) if ways else None
