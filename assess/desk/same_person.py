"""A candidate who was entered twice: one id goes on, the other gets no outcome; nothing written is changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.records.errors import Refusal, StorageTrouble
from assess.records.facts import SamePerson
from assess.records.text import recorded

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.desk.session import Desk

__all__ = ["both_marked", "record_same_person", "same_as"]


def same_as(desk: CourseView, candidate: str) -> str | None:
    """Under which id this candidate goes on, when a director has said that it is one person; else None."""
    found: str | None = None
    for ledger, entry in desk.shelf.entries("day"):
        if isinstance(entry.fact, SamePerson) and ledger.header.author in desk.course.directors:
            if entry.fact.candidate == candidate:
                found = entry.fact.same_as
            elif entry.fact.same_as == candidate and found == entry.fact.candidate:
                found = None  # said the other way round later: this is the id that goes on
    return found


def both_marked(desk: CourseView, candidate: str, other: str) -> tuple[str, ...]:
    """The tasks in which both ids have a sheet that everybody who marks them has locked."""
    tasks = dict.fromkeys(slot.task for slot in desk.course.allocation if slot.candidate == candidate)
    return tuple(t for t in tasks if desk.sight.slot_open(t, candidate) and desk.sight.slot_open(t, other))


def record_same_person(desk: Desk, candidate: str, other: str, reason: str) -> tuple[str, ...]:
    """Write down that `candidate` is the same person as `other`; the tasks in which both were marked to the end.

    Raises Refusal for anybody but a director, without a reason, for ids that are no candidates or one and the same,
    and for an id that is a double already.
    """
    if desk.role != "director":
        raise Refusal("only a director says that two ids are one person", todo="say who you are with --as ID")
    if not reason.strip():
        raise Refusal("a reason is needed", todo="say with --reason how it was found out")
    for who in (candidate, other):
        if who not in desk.course.candidates:
            raise Refusal(f"{who} is no candidate of this course", todo="see the candidates in course.yaml")
    if candidate == other:
        raise Refusal("that is one id", todo="name the id that is not used any more, then the one that goes on")
    double = same_as(desk, other)
    if double:
        raise Refusal(f"{other} is the same person as {double} already", todo=f"name {double} as the one that goes on")
    desk.day_book.append(SamePerson(candidate=candidate, same_as=other, reason=recorded(reason)))
    if not desk.drain(10):
        raise StorageTrouble(f"not saved: {desk.save_state().why}", todo="make room on the disk and try again")
    return both_marked(desk, candidate, other)
