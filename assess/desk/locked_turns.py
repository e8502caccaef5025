"""The scores of an open course that everybody may count: of turns whose every allocated sheet is locked.

Unlike a folder read from outside, an open course knows its allocation: a marker who has begun nothing is waited
for too, a withdrawn one is not, and a shadow's sheet never counts.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.desk.score_sources import ScoreSource
    from assess.desk.session import Desk
    from assess.desk.sheet_scores import CourseScores
    from assess.marking.results import Sheet

__all__ = ["locked_scores", "locked_source", "locked_turns", "may_see_all", "rests_on"]

FEW_CANDIDATES = 10


def may_see_all(desk: Desk) -> None:
    """Raise Refusal unless this person may see numbers of the whole course: a director, or after the release."""
    from assess.desk.outcomes import course_modules

    if desk.role == "director":
        return
    modules = course_modules(desk)
    if any(desk.sight.module_word(module, candidate) for module in modules for candidate in desk.course.candidates):
        raise Refusal("this is shown to a director, and to assessors once everything is locked and released")


def locked_turns(desk: Desk) -> Iterator[tuple[Sheet, ...]]:
    """The sheets of every turn that all its markers have locked, whole; by task and candidate, then by assessor."""
    for slot in sorted(desk.course.allocation, key=lambda slot: (slot.task, slot.candidate)):
        if not desk.sight.slot_open(slot.task, slot.candidate):
            continue
        markers = sorted(desk.markers(slot.task, slot.candidate))
        sheets = tuple(desk.folded(slot.task, slot.candidate, who) for who in markers)
        # Of a slot in which nobody may mark no sheet counts.
        if sheets and all(sheet.usable for sheet in sheets):
            yield sheets


def locked_source(desk: Desk) -> ScoreSource:
    """The scores of these turns as statistics take them; how many turns are waited for stands among the warnings.

    Raises Refusal when there is none yet, or when the rubrics have different scales.
    """
    from assess.desk.score_sources import joined_courses

    scores, also = locked_scores(desk)
    if not scores.sheets:
        raise Refusal(
            "no turn of a candidate has all its sheets locked yet", todo="look again when everybody has locked"
        )
    return joined_courses([scores], also=also)


def locked_scores(desk: Desk) -> tuple[CourseScores, tuple[str, ...]]:
    """The same before it is joined with other courses, and how many turns are waited for."""
    from assess.desk.sheet_scores import CourseScores, SheetScores
    from assess.store.sheet_files import sheet_files

    turns = list(locked_turns(desk))
    sheets = tuple(
        SheetScores(
            sheet.task, sheet.candidate, sheet.assessor,
            {mark.criterion: value for mark in sheet.marks if (value := mark.value) is not None},
        )
        for turn in turns
        for sheet in turn
    )  # fmt: skip
    used = {(sheet.task, sheet.candidate, sheet.assessor) for sheet in sheets}
    found = sheet_files(desk.folder.root)
    aside = sum(files.aside for files in found if (files.task, files.candidate, files.assessor) in used)
    rubrics = {sheet.rubric: desk.rubric_for(sheet.task) for turn in turns for sheet in turn}
    scores = CourseScores(desk.folder.root, desk.course.id, sheets, rubrics, not_used=0, unknown=0, aside=aside)
    return scores, _waited_for(len(turns), len(desk.course.allocation))


def rests_on(source: ScoreSource) -> str:
    """Whom these scores come from; said before any number, because one course is little data."""
    candidates, assessors = len(set(source.candidate)), len(set(source.assessor))
    who = ", ".join(
        (
            _many(candidates, "candidate"), _many(assessors, "assessor"),
            f"{_many(len(set(source.task or [])), 'task')} and {_many(source.n_sheets, 'sheet')}",
        )
    )  # fmt: skip
    if candidates < FEW_CANDIDATES:
        return f"This rests on {who}: too few for more than a hint. Read the ranges before the numbers."
    return f"This rests on {who}; one course is little data. Read the ranges before the numbers."


def _many(n: int, what: str) -> str:
    return f"{n} {what}{'' if n == 1 else 's'}"


def _waited_for(used: int, allocated: int) -> tuple[str, ...]:
    if used == allocated:
        return ()
    return (f"{used} of {allocated} turns are used; the others wait until all their sheets are locked and whole",)
