from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from assess.records.text import line_text, pictured, typed

ANY = st.text(st.characters(exclude_categories=()))


@given(ANY)
def test_nothing_typed_is_refused_and_typing_it_again_changes_nothing(text: str) -> None:
    once = typed(text)
    assert typed(once) == once
    assert unicodedata.is_normalized("NFC", once)


@given(ANY)
def test_recorded_text_has_no_control_surrogate_or_noncharacter(text: str) -> None:
    for char in typed(text):
        assert unicodedata.category(char) not in ("Cc", "Cs", "Zl", "Zp")
        assert (ord(char) & 0xFFFE) != 0xFFFE
        assert not 0xFDD0 <= ord(char) <= 0xFDEF


@given(ANY)
def test_shown_text_has_no_control_character_and_no_direction_override(text: str) -> None:
    for char in pictured(text):
        assert unicodedata.category(char) not in ("Cc", "Cs", "Zl", "Zp")
        assert char not in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff"


def test_newline_and_tab_become_a_space_and_an_escape_is_replaced() -> None:
    assert typed("a\nb\tc\x1b[2J") == "a b c\ufffd[2J"


def test_brackets_emoji_arabic_and_cjk_stay_as_they_are() -> None:
    for text in ("a [stance] b", "\U0001f3bf", "\u0645\u0631\u062d\u0628\u0627", "\u6ed1\u96ea"):
        assert typed(text) == text == pictured(text)


def test_an_escape_from_elsewhere_is_shown_as_a_picture() -> None:
    assert pictured("\x1b[31m") == "\u241b[31m"


def test_a_pass_line_is_shown_as_people_write_it_and_never_rounded() -> None:
    assert [line_text(exact) for exact in ("7/2", "3", "10/3", "71/20")] == ["3.5", "3", "10/3", "3.55"]
