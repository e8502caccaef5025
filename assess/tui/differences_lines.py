"""The lines of a difference: one in the list, and both sheets side by side."""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING

from assess.tui.shown import Content, joined, shown, wrapped

if TYPE_CHECKING:
    from assess.desk.moderating import Difference
    from assess.desk.moderation_views import SheetBeside, SlotView

__all__ = ["difference_row", "slot_lines"]

EFFECT = {
    "alone": ("can change it", "$warn"),
    "together": ("can, with others", "$warn"),
    "later": ("still open", "$mark"),
    "nothing": ("changes nothing", "$soft"),
}
BECAUSE = {
    "sheet-apart": "sheets far apart",
    "other-side": "one above the line, one below",
    "criterion-apart": "a criterion far apart",
}
NAME, EFFECT_CELLS = 16, 17


def difference_row(item: Difference, name: str, bib: int, width: int, *, here: bool) -> Content:
    """`> T2 21 Beric Stannow   demo  can change it    one above the line, one below`."""
    words, style = EFFECT[item.found.effect] if item.found.due else ("listed", "$soft")
    why = ", ".join(BECAUSE[word] for word in item.found.because) or "one level apart across the line"
    left = [
        shown(f"{'>' if here else ' '} {item.found.task:<5}{bib:>3} ", "bold $mark"),
        shown(name, "bold" if here else "", cells=NAME, fill=True),
        shown(f" {item.module}", "", cells=8, fill=True),
        shown(f" {words}", style, cells=EFFECT_CELLS + 1, fill=True),
    ]
    used = sum(part.cell_length for part in left)
    return joined([*left, shown(f" {why}", "$soft", cells=max(0, width - used))])


def slot_lines(view: SlotView, item: Difference, width: int) -> list[Content]:
    """What is to be settled first, the marks, what each saw, then what was agreed and who is fresh."""
    drawn: list[Content] = []
    if view.trouble:
        drawn += wrapped(f"to settle: {view.trouble}", width, "$bad")
    for past in view.history:
        values = "".join(f", {view.labels.get(k, k)} {v}" for k, v in past.fact.values.items())
        said = f"{past.fact.outcome.replace('-', ' ')}{values}; {', '.join(past.fact.present)}"
        drawn += wrapped(f"agreed: {said}; {past.fact.reason or '(erased)'}", width, "$good")
    drawn += _marks(view, item, width)
    half = (width - 2) // max(1, len(view.sheets))
    columns = [_seen(sheet, half) for sheet in view.sheets]
    for row in zip_longest(*columns):
        parts = [part if part is not None else shown("") for part in row]
        drawn.append(joined([_filled(part, half) for part in parts], " "))
    for late in view.late:
        ruled = "no ruling yet" if late.ruling is None else "admitted" if late.ruling.admitted else "not admitted"
        drawn += wrapped(f"late evidence, {ruled}: {late.fact.what or '(erased)'}", width, "$mark")
    drawn += wrapped(f"fresh for a third look: {', '.join(view.fresh) or 'nobody'}", width, "$soft")
    return drawn


def _marks(view: SlotView, item: Difference, width: int) -> list[Content]:
    label = max(len(words) for words in view.labels.values()) + 1
    room = max(8, min(18, (width - label) // max(1, len(view.sheets)) - 1))
    head = [shown("", cells=label, fill=True)]
    head += [shown(f" {sheet.name}", "bold $mark", cells=room, fill=True) for sheet in view.sheets]
    drawn = [joined(head)]
    for criterion, words in view.labels.items():
        apart = criterion in item.found.criteria or criterion in item.found.across
        style = "bold $warn" if apart else ""
        cells = [shown(words, style, cells=label, fill=True)]
        cells += [shown(f" {s.marks.get(criterion, 'no mark')}", style, cells=room, fill=True) for s in view.sheets]
        sign = " < far apart" if criterion in item.found.criteria else " < across the line" if apart else ""
        drawn.append(joined([*cells, shown(sign, style)]))
    return drawn


def _seen(sheet: SheetBeside, width: int) -> list[Content]:
    drawn = [shown(f"{sheet.name} saw", "bold $mark", cells=width)]
    for item in sheet.seen:
        from_where = f", {item.viewpoint}" if item.viewpoint else ""
        drawn += wrapped(f"{item.at[:5]} {item.text}{from_where}", width - 1, "", indent=1)
    return drawn if sheet.seen else [*drawn, shown("nothing is noted", "$soft", cells=width)]


def _filled(part: Content, width: int) -> Content:
    room = width - part.cell_length
    return joined([part, shown(" " * room)]) if room > 0 else part
