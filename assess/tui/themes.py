"""Three themes: dark, light, and outdoor for sun on the screen. Every pair of colours is named here."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from textual.theme import Theme

__all__ = ["PALETTES", "Palette", "theme_of", "themes"]


@dataclass(frozen=True)
class Palette:
    """What each colour is for; text is only ever one of the inks on one of the grounds.

    paper, row, bar, cursor: grounds (the page, the row one is on, title and key lines, the cell
    one is on). ink, soft: text and lesser text on paper and row. good, warn, bad, mark: words of
    state and what one looks for, on paper and row. bar_ink, cursor_ink: on their own grounds.
    """

    paper: str
    row: str
    ink: str
    soft: str
    bar: str
    bar_ink: str
    cursor: str
    cursor_ink: str
    good: str
    warn: str
    bad: str
    mark: str


PALETTES: dict[str, Palette] = {
    "dark": Palette(
        paper="#10161d", row="#1f2b38", ink="#e9eef3", soft="#aeb9c5", bar="#24384d", bar_ink="#f3f7fa",
        cursor="#ffd166", cursor_ink="#10161d", good="#86dba0", warn="#ffd166", bad="#ff9d94", mark="#9bd0ff",
    ),
    "light": Palette(
        paper="#fbfaf6", row="#e2ebf4", ink="#14181d", soft="#454e58", bar="#cfd9e4", bar_ink="#14181d",
        cursor="#173a5e", cursor_ink="#ffffff", good="#14592a", warn="#6e4300", bad="#951818", mark="#104582",
    ),
    "outdoor": Palette(
        paper="#ffffff", row="#fff1a8", ink="#000000", soft="#000000", bar="#000000", bar_ink="#ffffff",
        cursor="#000000", cursor_ink="#ffffff", good="#003d14", warn="#4a2600", bad="#7a0000", mark="#00286e",
    ),
}  # fmt: skip


def theme_of(name: str) -> Theme:
    """The Textual theme made from a palette."""
    palette = PALETTES[name]
    named = {key.replace("_", "-"): value for key, value in asdict(palette).items()}
    return Theme(
        name=name,
        primary=palette.mark,
        secondary=palette.soft,
        accent=palette.mark,
        warning=palette.warn,
        error=palette.bad,
        success=palette.good,
        foreground=palette.ink,
        background=palette.paper,
        surface=palette.paper,
        panel=palette.row,
        dark=name == "dark",
        variables={
            **named,
            "scrollbar": palette.soft,
            "scrollbar-hover": palette.soft,
            "scrollbar-active": palette.ink,
            "scrollbar-background": palette.paper,
            "scrollbar-background-hover": palette.paper,
            "scrollbar-background-active": palette.paper,
            "scrollbar-corner-color": palette.paper,
            "input-cursor-background": palette.cursor,
            "input-cursor-foreground": palette.cursor_ink,
            "input-cursor-text-style": "none",
            "input-selection-background": palette.cursor,
            "input-selection-foreground": palette.cursor_ink,
        },
    )


def themes() -> tuple[Theme, ...]:
    """All themes that ship."""
    return tuple(theme_of(name) for name in PALETTES)
