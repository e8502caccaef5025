"""The criteria: where assessors part, what always comes out alike, what nobody uses."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from assess.tui.shown import Content, joined, shown, wrapped
from assess.tui.worked_screen import WorkedScreen

if TYPE_CHECKING:
    from assess.desk.criteria import AlwaysEqual, CriteriaTable, CriterionRow

__all__ = ["CriteriaScreen"]

BAR, LABEL, LONG_LABEL, FIGURES = 10, 14, 24, 37
CAUTION = "Numbers about marks, not about people: a reason to look together."
COLUMNS = "same, near: of pairs of marks on the same thing, the same level or at most one apart."


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
        """What it rests on, the table, and what stands below it."""
        drawn = [*wrapped(f"{found.told[0]} {CAUTION}", width, "$warn"), *wrapped(COLUMNS, width, "$soft")]
        label = max(LABEL, min(LONG_LABEL, width - FIGURES - BAR))
        bar = max(0, min(BAR, width - FIGURES - label))
        head = f"{'':{label + bar}}   same     range   near  pairs   cand"
        drawn.append(shown(head, "$soft", cells=width))
        drawn += [_line(row, width, label, bar) for row in found.rows]
        unused = [f"{row.label} {', '.join(map(str, row.unused))}" for row in found.rows if row.unused]
        marks = f"of {sum(row.n_marks for row in found.rows)} marks"
        drawn += _part(f"Levels nobody gave, {marks}", ["; ".join(unused)] if unused else [], "none", width)
        drawn += _part(
            "Criteria with (nearly) always the same level on a sheet", [_pair(pair) for pair in found.alike],
            f"none; the most alike: {_pair(found.closest)}" if found.closest else "too few sheets to tell", width,
        )  # fmt: skip
        silent = ", ".join(found.silent_must_nots)
        where = f"Must-nots nobody reported, {found.n_sheets} sheets"
        drawn += _part(where, [silent] if silent else [], "none: each was reported", width)
        for told in found.told[1:]:
            drawn += [shown(""), *wrapped(told, width, "$soft")]
        return drawn


def _part(head: str, told: list[str], nothing: str, width: int) -> list[Content]:
    rows = [row for text in told or [nothing] for row in wrapped(text, width, "$ink")]
    return [shown(""), *wrapped(head, width, "bold $mark"), *rows]


def _pair(pair: AlwaysEqual) -> str:
    return f"{pair.task} {pair.first} = {pair.second} on {100 * pair.share:.0f} % of {pair.n} sheets"


def _line(row: CriterionRow, width: int, room: int, cells: int) -> Content:
    """`Edging         ██████····   55 %   35-75 %  100 %     20     10`."""
    label = shown(row.label, "bold", cells=room, fill=True)
    share, ends, near = row.equal.estimate, row.equal.ci95, row.within_one.estimate
    if share is None:
        return joined([label, shown(f" {row.equal.undefined or 'not told'}", "$soft", cells=width - room)])
    full = round(share * cells)
    bar = shown(f" {'█' * full}{'·' * (cells - full)}", "$mark")
    between = f"{100 * ends[0]:.0f}-{100 * ends[1]:.0f} %" if ends else "not told"
    told = f" {_percent(share)}  {between:>8}  {_percent(near)}  {row.pairs:>5}  {row.equal.n_candidates:>5}"
    return joined([label, bar, shown(told)])


def _percent(share: float | None) -> str:
    return "    -" if share is None else f"{100 * share:3.0f} %"
