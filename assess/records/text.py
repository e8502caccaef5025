"""Text typed by people: nothing is refused on entry, nothing is dangerous on a screen."""

from __future__ import annotations

import unicodedata
from fractions import Fraction

from assess.records.errors import Refusal

__all__ = ["LONGEST_TEXT", "line_text", "pictured", "recorded", "typed"]

LONGEST_TEXT = 8000
"""Characters a free text may have, so that its line fits into a ledger."""


def typed(text: str) -> str:
    """Text as it is recorded: NFC, newline and tab as a space, other controls and non-characters as U+FFFD."""
    return unicodedata.normalize("NFC", "".join(_character(char) for char in text))


def recorded(text: str, what: str = "the text") -> str:
    """A text that goes into a record, `typed`. Raises Refusal when it is longer than a record takes."""
    kept = typed(text)
    if len(kept) > LONGEST_TEXT:
        raise Refusal(f"{what} has {len(kept)} characters, {LONGEST_TEXT} are the most", todo="make it shorter")
    return kept


def line_text(exact: str) -> str:
    """A pass line as people write it: `7/2` is 3.5; one no short decimal says stays a fraction."""
    line = Fraction(exact)
    shown = f"{float(line):g}"
    return shown if Fraction(shown) == line else exact


def _character(char: str) -> str:
    code = ord(char)
    if char in "\n\t\r\x0b\x0c\x85\u2028\u2029":
        return " "
    if code < 0x20 or 0x7F <= code <= 0x9F or 0xD800 <= code <= 0xDFFF:
        return "\ufffd"
    if (code & 0xFFFE) == 0xFFFE or 0xFDD0 <= code <= 0xFDEF:
        return "\ufffd"
    return char


def pictured(text: str) -> str:
    """Text from elsewhere as it is shown: control characters as pictures, direction overrides named."""
    return "".join(_picture(char) for char in text)


def _picture(char: str) -> str:
    code = ord(char)
    if code < 0x20:
        return chr(0x2400 + code)
    if code == 0x7F:
        return "\u2421"
    if 0x80 <= code <= 0x9F or 0xD800 <= code <= 0xDFFF or code in (0x2028, 0x2029, 0xFEFF):
        return "\ufffd"
    # An override would turn the rest of the line round, other people's names included.
    if 0x202A <= code <= 0x202E or 0x2066 <= code <= 0x2069:
        return "\u2426"
    return char
