"""What the levels of a criterion mean: three lines, one descriptor each, or all of them in full."""

from __future__ import annotations

from assess.tui.line import Line
from assess.tui.shown import Content, joined, lines, shown

__all__ = ["LevelsPanel", "all_levels", "three_levels"]

LABEL = 14
Descriptors = tuple[tuple[int, str], ...]


def three_levels(label: str, descriptors: Descriptors, given: int | None, width: int) -> Content:
    """Three lines cut to the width: the level given (marked) and its neighbours."""
    room = max(10, width - LABEL - 5)
    drawn = []
    for index, (level, text) in enumerate(descriptors):
        here = level == given
        drawn.append(
            joined(
                [
                    shown(label if index == 0 else "", "bold $mark", cells=LABEL, fill=True),
                    shown(f" {'>' if here else ' '}{level} ", "bold $mark"),
                    shown(text, "bold" if here else "$soft", cells=room),
                ]
            )
        )
    return lines(drawn)


def all_levels(label: str, question: str, descriptors: Descriptors, given: int | None) -> Content:
    """Every level in full, and the question the criterion asks."""
    drawn = [joined([shown(label, "bold $mark"), shown(f"  {question}", "$soft")])]
    for level, text in descriptors:
        here = level == given
        drawn.append(
            joined([shown(f"{'>' if here else ' '}{level} ", "bold $mark"), shown(text, "bold" if here else "")])
        )
    return lines(drawn)


class LevelsPanel(Line):
    """The panel under the rows. It changes with every mark, so it is three cut lines unless all are asked for."""

    DEFAULT_CSS = """
    LevelsPanel { height: 4; border-top: solid $soft; background: $paper; color: $ink; padding: 0 1; }
    LevelsPanel.-all { height: auto; max-height: 60%; text-wrap: wrap; }
    """
