"""The sheets of an open course as they are held against one another: of turns that all their markers have locked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.desk.locked_turns import locked_source, locked_turns
from assess.desk.running_order import running_order
from assess.records.facts import OrderChange

if TYPE_CHECKING:
    from assess.agreement.sheets import MarkedSheet
    from assess.desk.score_sources import ScoreSource
    from assess.desk.session import Desk

__all__ = ["places", "rater_sheets"]


def rater_sheets(desk: Desk) -> tuple[tuple[MarkedSheet, ...], ScoreSource]:
    """The observed sheets, and all scores of these turns with what was not used among the warnings.

    Raises Refusal when there is none yet, or when the rubrics have different scales.
    """
    from dataclasses import replace

    from assess.agreement.sheets import MarkedSheet
    from assess.marking.values import given_levels, sheet_value

    source = locked_source(desk)
    made, unseen = [], 0
    for turn in locked_turns(desk):
        task, candidate = turn[0].task, turn[0].candidate
        rubric = desk.rubric_for(task)
        for sheet in turn:
            value = sheet_value(sheet, rubric)
            if value is None:
                unseen += 1
                continue
            marks = tuple(float(level) for level in given_levels(sheet).values())
            passes = value >= rubric.scale.pass_line
            place, day = places(desk, task, sheet.assessor).get(candidate), _day(desk, task, candidate)
            made.append(MarkedSheet(candidate, task, sheet.assessor, marks, float(value), passes, place, day))
    if unseen:
        told = f"{unseen} sheet{' is' if unseen == 1 else 's are'} not used: too little of the task was seen"
        source = replace(source, warnings=(*source.warnings, told))
    return tuple(made), source


def places(desk: Desk, task: str, assessor: str) -> dict[str, int]:
    """The place in the task's running order of each candidate this assessor marks, as it happened; 1 is first.

    A change of order is written from the rows of one run sheet, and counts them: so the rows of an assessor change
    places among themselves, and the places they have together stay theirs.
    """
    slots = [slot for slot in desk.course.allocation if slot.task == task]
    mine = sorted((s for s in slots if assessor in desk.seats.writers(task, s.candidate)), key=lambda slot: slot.order)
    changes = [entry.fact for _, entry in desk.shelf.entries("day") if isinstance(entry.fact, OrderChange)]
    order = running_order([slot.candidate for slot in mine], task, changes)
    return {place.candidate: slot.order for place, slot in zip(order, mine, strict=True)}


def _day(desk: Desk, task: str, candidate: str) -> int | None:
    slot, described = desk.course.slot(task, candidate), desk.course.task(task)
    if slot is not None and slot.day is not None:
        return slot.day
    return None if described is None else described.day
