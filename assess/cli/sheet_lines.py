"""One's own sheet as plain lines and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assess.desk.slot_sheet import SlotSheet
    from assess.marking.results import Mark

__all__ = ["sheet_json", "sheet_lines"]


def sheet_json(slot: SlotSheet) -> dict[str, Any]:
    """The sheet as it stands: marks, what it lacks, and of the others only whether they have locked."""
    return {
        "sheet": f"{slot.task_id}.{slot.candidate}.{slot.who}",
        "locked": slot.locked,
        "marks": [
            {"criterion": criterion, "status": mark.status if mark else None, "level": _level(mark)}
            for criterion in slot.criteria
            for mark in [slot.sheet.mark(criterion)]
        ],
        "holes": [{"text": hole.text, "blocks": hole.blocks} for hole in slot.holes()],
        "shadow": slot.shadow or None,
        "partners": dict(sorted(slot.partners().items())),
    }


def sheet_lines(slot: SlotSheet) -> Iterator[str]:
    """What is missing first, then the marks."""
    desk = slot.desk
    state = "locked" if slot.locked else "not locked"
    who = f"{desk.bib(slot.candidate)} {desk.name(slot.candidate)}"
    yield f"{slot.task_id} {slot.task.title}: {who}, {slot.who}, {state}"
    if slot.shadow:
        yield f"  kept as a shadow's, in no result: {slot.shadow}"
    for hole in slot.holes():
        yield f"  {'missing' if hole.blocks else 'look'}: {hole.text}"
    for criterion in slot.criteria:
        yield f"  {slot.rubric.criteria[criterion].label}: {_shown(slot.sheet.mark(criterion))}"
    for who, state in sorted(slot.partners().items()):
        yield f"  {who}: {state}"


def _level(mark: Mark | None) -> int | float | None:
    if mark is None or mark.level is None:
        return None
    return mark.level if isinstance(mark.level, int) else float(mark.level)


def _shown(mark: Mark | None) -> str:
    if mark is None:
        return "no mark yet"
    if mark.status == "scored":
        return f"{_level(mark)}"
    return mark.status.replace("-", " ") + (f" ({mark.why})" if mark.why else "")
