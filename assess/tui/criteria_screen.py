"""The criteria: where assessors part, what always comes out alike, what nobody uses."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from assess.tui.shown import Content, joined, shown, wrapped
from assess.tui.worked_screen import WorkedScreen

if TYPE_CHECKING:
    from assess.desk.criteria import CriteriaTable, CriterionRow

__all__ = ["CriteriaScreen"]

BAR, SHORT_BAR, ROOMY = 10, 4, 70
CAUTION = "Numbers about marks, not about people: a reason to look together."


class CriteriaScreen(WorkedScreen):
    """One line a criterion, the lowest agreement first; then what is always alike, and what nobody used."""

    @property
    def place(self) -> str:
        """The criteria."""
        return "criteria"

    def title_words(self) -> str:
        """Where agreement is low."""
        return "criteria · where assessors part"

    def work(self, progress: Callable[[float], bool]) -> CriteriaTable:
        """The table of this course."""
        from assess.desk.criteria import criteria_of

        return criteria_of(self.desk, progress)

    def page(self, found: CriteriaTable, width: int) -> list[Content]:
        """The table and what stands below it."""
        drawn = [*wrapped(CAUTION, width, "$warn"), shown("")]
        bar = BAR if width >= ROOMY else SHORT_BAR
        head = f"{'':16}{'same level':>{bar + 7}}  95 %       within 1  pairs"
        drawn.append(shown(head, "$soft", cells=width))
        drawn += [_line(row, width, bar) for row in found.rows]
        drawn += [shown(""), shown("Levels nobody gave", "bold $mark")]
        unused = [f"{row.label}: {', '.join(map(str, row.unused))}" for row in found.rows if row.unused]
        drawn += wrapped("; ".join(unused) or "every level was given on every criterion", width, "$ink")
        drawn += [shown(""), shown("Always, or nearly always, the same level on a sheet", "bold $mark")]
        alike = [
            f"{pair.task} {pair.first} and {pair.second}: {pair.share:.0%} of {pair.n} sheets".replace("%", " %")
            for pair in found.alike
        ]
        drawn += [line for text in alike or ["no two criteria"] for line in wrapped(text, width, "$ink")]
        drawn += [shown(""), shown("Must-nots nobody reported", "bold $mark")]
        drawn += wrapped(", ".join(found.silent_must_nots) or "each was reported", width, "$ink")
        for told in found.told:
            drawn += [shown(""), *wrapped(told, width, "$soft")]
        return drawn


def _line(row: CriterionRow, width: int, cells: int) -> Content:
    """`Edging  ████······ 0.41  0.30-0.52  0.90  40`."""
    label = shown(row.label, "bold", cells=15, fill=True)
    share = row.equal.estimate
    if share is None:
        return joined([label, shown(f" {row.equal.undefined or 'not told'}", "$soft", cells=width - 16)])
    full = round(share * cells)
    bar = shown(f" {'█' * full}{'·' * (cells - full)}", "$mark")
    ends = row.equal.ci95
    between = f"{ends[0]:.2f}-{ends[1]:.2f}" if ends else "not told"
    near = f"{row.within_one.estimate:.2f}" if row.within_one.estimate is not None else "-"
    told = f" {share:5.2f}  {between:<10} {near:>7}  {row.equal.n:>5}"
    return joined([label, bar, shown(told, cells=max(1, width - 16 - cells))])
