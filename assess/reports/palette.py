"""The colours of every page and picture, in one place: style sheet and charts take them from here.

Colour never tells anything alone: a word, a sign or a place says the same. Lines and fills stand out from the paper
by 3:1, text by 4.5:1 (WCAG 2.2, 1.4.3 and 1.4.11), and what is told apart in a picture stays apart for people who see
fewer colours; `tests/reports/test_palette.py` measures all of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

__all__ = ["APART", "DARK", "LIGHT", "LINES", "PRINTED", "TEXTS", "Role", "palette_css", "printed_css"]

Role = Literal["paper", "tint", "ink", "quiet", "rule", "line", "alarm"]

LIGHT: Mapping[Role, str] = {
    "paper": "#ffffff", "tint": "#f1f1ee", "ink": "#1b1b1b", "quiet": "#555555", "rule": "#858585",
    "line": "#004f82", "alarm": "#8c2f00",
}  # fmt: skip
DARK: Mapping[Role, str] = {
    "paper": "#14171a", "tint": "#20252a", "ink": "#eceae6", "quiet": "#b9b6b0", "rule": "#7d8085",
    "line": "#8fcaff", "alarm": "#ffb089",
}  # fmt: skip
PRINTED: Mapping[Role, str] = {"paper": "#ffffff", "ink": "#000000"}
"""What is printed to be written on: black and white alone, whatever the printer."""
TEXTS: tuple[Role, ...] = ("ink", "quiet", "line", "alarm")
"""What text is written in, on paper and on tint."""
LINES: tuple[Role, ...] = ("rule", "line", "alarm", "ink")
"""What lines, dots and fills are drawn in."""
APART: tuple[Role, ...] = ("line", "alarm", "rule")
"""What stands side by side in one picture."""


def palette_css() -> str:
    """The colours as custom properties, light and dark, and for pictures drawn in light colours their dark ones."""
    # No ancestor is named: what an SVG uses more than once matches without any.
    dark = "\n".join(
        f'  [style*="{what}: {LIGHT[role]}"] {{ {what}: {DARK[role]} !important; }}'
        for role in LIGHT
        for what in ("fill", "stroke")
    )
    return (
        f":root {{ {_properties(LIGHT)} }}\n"
        f"@media (prefers-color-scheme: dark) {{\n  :root {{ {_properties(DARK)} }}\n{dark}\n}}\n"
    )


def printed_css() -> str:
    """The two colours of cards as custom properties, the same on every screen and in every print."""
    return f":root {{ {_properties(PRINTED)} }}\n"


def _properties(colours: Mapping[Role, str]) -> str:
    return " ".join(f"--{role}: {colour};" for role, colour in colours.items())
