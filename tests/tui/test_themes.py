"""Contrast of text as it is painted, on every screen, in every theme, with and without colour (WCAG 2.2, 1.4.3)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from rich.segment import Segment
from textual.color import Color
from textual.filter import Monochrome

from assess.tui.themes import PALETTES
from tests.tui.rest import rest
from tests.tui.seat import Seat, at_seat

LEAST = 4.5
RUN, LESSON = ("task", "T1"), ("lesson", "T4", "C01")
PICTURES = [
    ("board", "", "board"),
    ("board", "m 1", "morning"),
    ("board", "r", "outcomes"),
    (RUN, "4 2 4 0 3", "run sheet"),
    (RUN, "4 2 4 5 k", "before the lock"),
    (RUN, "plus", "numbered list"),
    (RUN, "b 2", "number"),
    (RUN, "t", "search"),
    (RUN, "n a", "note"),
    (RUN, "g", "breach"),
    (RUN, "9", "refusal"),
    (RUN, "h", "all levels"),
    (RUN, "f1", "help"),
    (LESSON, "s 1 plus 2 minus space", "thin"),
    (LESSON, "s 1 plus 2 minus d l 1 1 2 2 3 3 escape f", "full"),
    (LESSON, "m 4", "levels"),
]


def painted(seat: Seat) -> Iterator[Segment]:
    """Every piece of text on the screen with its two colours, as the terminal gets them."""
    for strip in seat.app.screen._compositor.render_strips():
        for segment in strip:
            if segment.text.strip() and segment.style is not None:
                yield segment


def luminance(color: Color) -> float:
    """Relative luminance, WCAG 2.2, definition of relative luminance (sRGB)."""
    parts = [value / 255 for value in (color.r, color.g, color.b)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def ratio(one: Color, other: Color) -> float:
    """Contrast ratio, WCAG 2.2: (L1 + 0.05) / (L2 + 0.05)."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_ratio_of_black_and_white_is_21_and_of_equal_colours_1() -> None:
    assert ratio(Color.parse("#000000"), Color.parse("#ffffff")) == pytest.approx(21)
    assert ratio(Color.parse("#123456"), Color.parse("#123456")) == 1


@pytest.mark.parametrize("theme", sorted(PALETTES))
def test_every_ink_of_a_palette_stands_out_from_its_grounds(theme: str) -> None:
    palette = PALETTES[theme]
    pairs = [(ink, ground) for ink in ("ink", "soft", "good", "warn", "bad", "mark") for ground in ("paper", "row")]
    pairs += [("bar_ink", "bar"), ("cursor_ink", "cursor"), ("paper", "bad")]
    for ink, ground in pairs:
        colors = Color.parse(getattr(palette, ink)), Color.parse(getattr(palette, ground))
        assert ratio(*colors) >= LEAST, (ink, ground)
        grey = [color.monochrome for color in colors]
        assert ratio(*grey) >= LEAST, (ink, ground, "without colour")


@pytest.mark.parametrize(("start", "keys", "name"), PICTURES, ids=[picture[2] for picture in PICTURES])
async def test_all_text_of_every_screen_stands_out_in_every_theme(start, keys: str, name: str, tmp_path) -> None:
    async with at_seat(tmp_path, start) as seat:
        await seat.press(keys)
        for theme in sorted(PALETTES):
            seat.app.theme = theme
            await rest(seat.pilot)
            pieces = list(painted(seat))
            assert len(pieces) > 10
            for segment in pieces:
                stands_out(segment, theme)


def stands_out(segment: Segment, theme: str) -> None:
    style = segment.style
    assert style is not None
    assert style.color is not None
    assert style.bgcolor is not None
    assert not style.dim
    grey = Monochrome().apply([segment], Color.parse("#000000"))[0].style
    assert grey is not None
    for painted_as, words in ((style, theme), (grey, f"{theme} without colour")):
        colors = Color.from_rich_color(painted_as.color), Color.from_rich_color(painted_as.bgcolor)
        assert ratio(*colors) >= LEAST, (segment.text, words)


async def test_without_colour_every_state_is_told_by_a_word_or_a_sign(tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with at_seat(tmp_path, RUN) as seat:
        await seat.press("4 2 0 3 5 5 5 5 k", gap_ms=160)
        assert seat.app.no_color
        assert "2 missing" in seat.text
        await seat.press("enter b 2 2 o 5")
        assert "locked" in seat.line("21 Beric")
        assert "absent" in seat.line("22 Calla")
        assert "2*" in seat.line("20 Aldous")
        assert "note due 2" in seat.line("20 Aldous")
        assert "> 23" in seat.text
        assert "[ ]" in seat.line("> 23")
