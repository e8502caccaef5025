from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from assess.tui.shown import cells_of, changed_cells, first_cells, joined, shown


@pytest.mark.parametrize(
    "text",
    ["a [stance] b", "[/oops]", "[bold]x[/bold]", "$ink", "山田 太郎", "e\u0301", "👩‍👩‍👧", "🇦🇹", "x" * 60, "\\["],
)
def test_text_is_shown_as_it_is(text: str) -> None:
    assert shown(text).plain == text


def test_control_characters_become_pictures() -> None:
    assert shown("a\x1b[31m\x00\x7f").plain == "a\u241b[31m\u2400\u2421"


def test_a_word_from_right_to_left_is_closed_off_before_the_digits_that_follow() -> None:
    assert shown("محمد", cells=8, fill=True).plain == "محمد\u200e    "


def test_a_direction_override_turns_nothing_round() -> None:
    assert "\u202e" not in shown("a\u202eb").plain


@pytest.mark.parametrize(
    ("text", "cells", "cut"),
    [
        ("abcdef", 6, "abcdef"), ("abcdef", 5, "abcd…"), ("abcdef", 1, "…"), ("abcdef", 0, ""),
        ("山田太郎", 5, "山田…"),
        ("山田太郎", 4, "山…"), ("👩‍👩‍👧👩‍👩‍👧", 3, "👩‍👩‍👧…"), ("e\u0301e\u0301e\u0301", 2, "e\u0301…"),
    ],
)  # fmt: skip
def test_text_is_cut_by_cells_and_letters_stay_whole(text: str, cells: int, cut: str) -> None:
    assert first_cells(text, cells) == cut


@given(st.text(max_size=40), st.integers(0, 30))
def test_filled_text_takes_exactly_its_cells(text: str, cells: int) -> None:
    assert cell_len(shown(text, cells=cells, fill=True).plain) == cells


@given(st.text(max_size=40))
def test_nothing_shown_holds_a_control_character_or_a_style_of_its_own(text: str) -> None:
    content = shown(text)
    assert not any(ord(char) < 0x20 or 0x7F <= ord(char) <= 0x9F for char in content.plain)
    assert content.spans == []
    assert cells_of(text) == cell_len(content.plain)


LETTERS = st.sampled_from(["a", "4", "·", " ", "山", "e\u0301", "👩‍👩‍👧"])
PIECES = st.lists(st.tuples(LETTERS, st.sampled_from(["", "bold", "$soft"])), min_size=1, max_size=12)


def cells(pieces):
    """Each cell of a line with what is in it and how: wide letters stand in two."""
    return [(text, style, part) for text, style in pieces for part in range(cell_len(text))]


@given(PIECES, PIECES)
def test_only_the_cells_told_to_have_changed_differ(old, new) -> None:
    told = changed_cells(*(joined(shown(text, style) for text, style in line) for line in (old, new)))
    before, after = cells(old), cells(new)
    if told is None:
        assert [part for _, _, part in before] != [part for _, _, part in after]
        return
    start, count = told
    assert before[:start] == after[:start]
    assert before[start + count :] == after[start + count :]
    assert (count == 0) == (before == after)
