"""Modules in which somebody marks who should not: shadow sheets added, and markers whose conflict was waived."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from hypothesis import strategies as st

from assess.marking.case import ModuleCase
from assess.marking.results import Sheet
from tests.marking.drawn import TASKS, Drawn, marks, sheet_ledger

__all__ = ["conflicted_at", "shadow_sheets", "with_shadows"]


@st.composite
def shadow_sheets(draw: st.DrawFn, drawn: Drawn) -> dict[str, Sheet]:
    """By task: a sheet of A9, begun or locked, on any marks; perhaps in one task only."""
    from assess.marking.fold import fold_sheet
    from tests.marking.building import locked

    tasks = draw(st.lists(st.sampled_from(sorted(TASKS)), min_size=1, unique=True))
    found = {}
    for task in tasks:
        own = sheet_ledger(draw(marks(task)), task, "A9")
        found[task] = fold_sheet([locked(own) if draw(st.booleans()) else own], rubric=drawn.rules)
    return found


def with_shadows(case: ModuleCase, sheets: dict[str, Sheet], why: str = "the licence ended") -> ModuleCase:
    """The same module with A9 allocated too, and judged to be a shadow; their sheet is a third one as well."""
    slots = tuple(
        replace(
            slot,
            allocated=(*slot.allocated, "A9"),
            sheets=(*slot.sheets, sheets[slot.task]),
            third=(*slot.third, sheets[slot.task]),
            shadows={"A9": why},
        )
        if slot.task in sheets
        else slot
        for slot in case.slots
    )
    return replace(case, slots=slots)


def conflicted_at(case: ModuleCase, who: Sequence[str], tasks: Sequence[str] = tuple(TASKS)) -> ModuleCase:
    """The same module with a waived conflict of these markers in these tasks."""
    slots = tuple(replace(slot, conflicted=tuple(who)) if slot.task in tasks else slot for slot in case.slots)
    return replace(case, slots=slots)
