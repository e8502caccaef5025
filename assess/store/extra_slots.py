"""The slots a course got after its allocation was written: repeats, completions and resits, from the day ledgers."""

from __future__ import annotations

from collections.abc import Iterable

from assess.records.course import Allocation, Course
from assess.records.facts import ExtraSlot
from assess.records.ledger import Ledger

__all__ = ["with_extra_slots"]


def with_extra_slots(course: Course, said: Iterable[tuple[Ledger, ExtraSlot]]) -> Course:
    """The course with these slots after its own, by time; only a director's count, and of one slot the first.

    said: every live `extra-slot` with its ledger, in the order they were made.
    """
    known = {(slot.task, slot.candidate) for slot in course.allocation}
    more = []
    days = (*course.days, *course.reserve_days)
    for ledger, fact in said:
        if ledger.header.author not in course.directors or (fact.task, fact.candidate) in known:
            continue
        known.add((fact.task, fact.candidate))
        day = days.index(ledger.header.date) + 1 if ledger.header.date in days else None
        more.append(
            Allocation(
                task=fact.task, order=fact.order, at=fact.at_wall, day=day, candidate=fact.candidate,
                assessors=fact.assessors,
            )
        )  # fmt: skip
    return course.model_copy(update={"allocation": (*course.allocation, *more)}) if more else course
