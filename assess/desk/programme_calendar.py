"""The programme of a course as appointments: the days, and every slot that has a time; ids, never names."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

from assess.desk.exporting import may_hand_out
from assess.desk.running_order import running_order
from assess.records.audience import AUDIENCES, Audience
from assess.records.errors import UsageError
from assess.records.facts import AllocationChange, OrderChange
from assess.records.ids import base_task
from assess.records.times import EPOCH, milliseconds
from assess.reports.calendar_file import Appointment, Programme, Status

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.course import Allocation

__all__ = ["programme_calendar"]


def programme_calendar(desk: Desk, audience: Audience = "panel", about: str | None = None) -> Programme:
    """The programme for the panel, of one assessor (`about`), or of one candidate (audience `candidate`).

    A candidate's own holds nothing of other candidates and no markers, and is made by a director: Refusal for
    anybody else. What was called off stays, as cancelled. Raises UsageError for research, and for an id the course
    does not have.
    """
    desk.need_course("only a course has a programme with times")
    if audience not in ("panel", "candidate"):
        raise UsageError("a calendar is for the panel or for a candidate", todo="leave --for out")
    if audience == "candidate":
        may_hand_out(desk, audience)
    known = desk.course.candidates if audience == "candidate" else (*desk.course.assessors, *desk.course.directors)
    if (audience == "candidate" and about is None) or (about is not None and about not in known):
        what = f"{about} is no {'candidate' if audience == 'candidate' else 'assessor'} of this course"
        raise UsageError(what if about else "for which candidate?", todo=f"name one of {', '.join(known)} with --about")
    slots = [slot for slot in desk.course.allocation if _concerns(desk, slot, audience, about)]
    slots.sort(key=lambda slot: (_day(desk, slot), slot.at or "", slot.task, slot.order))
    timed = [slot for slot in slots if slot.at and desk.course.held_on(slot.task, slot.candidate)]
    lacking = [f"{slot.task} of {slot.candidate} has no time yet" for slot in slots if slot not in timed]
    return Programme(
        course=desk.course.id,
        title=desk.course.title,
        audience=audience,
        promise=AUDIENCES[audience],
        dated=_dated(desk),
        appointments=(*_days(desk), *(_slot(desk, slot, audience, about) for slot in timed)),
        left_out=tuple(lacking),
    )


def _concerns(desk: Desk, slot: Allocation, audience: Audience, about: str | None) -> bool:
    if audience == "candidate":
        return slot.candidate == about
    if about is None or about in desk.course.directors:
        return True
    now = (*desk.seats.writers(slot.task, slot.candidate), *desk.third_markers(slot.task, slot.candidate))
    return about in now or about in slot.assessors


def _day(desk: Desk, slot: Allocation) -> int:
    task = desk.course.task(slot.task)
    return slot.day or (task.day if task else 0)


def _days(desk: Desk) -> Iterator[Appointment]:
    """One for each day, with the lines of the programme; reserve days are held free, not fixed."""
    fixed = len(desk.course.days)
    for number, day in enumerate((*desk.course.days, *desk.course.reserve_days), start=1):
        lines = [line.text for line in desk.course.programme if line.day == number]
        kind = f"day {number}" if number <= fixed else "reserve day"
        yield Appointment(
            key=f"day/{day}",
            start=date.fromisoformat(day),
            minutes=0,
            summary=f"{desk.course.title}, {kind}",
            place=desk.course.place,
            description="\n".join(lines),
            status="CONFIRMED" if number <= fixed else "TENTATIVE",
            sequence=desk.course.revision,
        )


def _slot(desk: Desk, slot: Allocation, audience: Audience, about: str | None) -> Appointment:
    described, here = desk.task(slot.task), desk.course.task(slot.task)
    changes, moves = desk.seats.changes(slot.task, slot.candidate), _moves(desk, slot)
    gone = running_order((slot.candidate,), slot.task, moves)[0].standing in ("absent", "withdrawn")
    markers = desk.seats.allocated(slot.task, slot.candidate)
    mine = about not in slot.assessors or about in markers
    status: Status = "CANCELLED" if gone or (audience == "panel" and about and not mine) else "CONFIRMED"
    what = f"{slot.task} {described.title}"
    return Appointment(
        key=f"{slot.task}/{slot.candidate}",
        start=_start(desk, slot),
        minutes=described.minutes,
        summary=what if audience == "candidate" else f"{what}: {slot.candidate}, bib {desk.bib(slot.candidate)}",
        place=", ".join(each for each in (here.place if here else "", desk.course.place) if each),
        description="" if audience == "candidate" else f"Marked by {', '.join(markers) or 'nobody yet'}.",
        status=status,
        sequence=desk.course.revision + len(changes) + len(moves),
    )


def _moves(desk: Desk, slot: Allocation) -> list[OrderChange]:
    """What the day brought about this slot."""
    found = [entry.fact for _, entry in desk.shelf.entries("day") if isinstance(entry.fact, OrderChange)]
    known = {task.id for task in desk.course.tasks}
    names = (slot.task, base_task(slot.task, known))
    return [
        fact
        for fact in found
        if fact.candidate == slot.candidate and (fact.task in names or fact.change in ("withdrawn", "back"))
    ]


def _start(desk: Desk, slot: Allocation) -> datetime:
    """When a slot begins: by the clocks of the course's zone when it names one, else in UTC."""
    day = desk.course.held_on(slot.task, slot.candidate)
    if desk.course.timezone and day and slot.at:
        from zoneinfo import ZoneInfo

        return datetime.combine(day, time.fromisoformat(slot.at), tzinfo=ZoneInfo(desk.course.timezone))
    return _moment(desk.course.planned_at(slot))


def _moment(at: str | None) -> datetime:
    return datetime.fromtimestamp(milliseconds(at) // 1000, tz=UTC) if at else EPOCH


def _dated(desk: Desk) -> datetime:
    """The newest change of the programme on the days, else when it was made, else the first day."""
    newest = max(
        (entry.at for _, entry in desk.shelf.entries("day") if isinstance(entry.fact, OrderChange | AllocationChange)),
        default=None,
    )
    if newest:
        return _moment(newest)
    made = date.fromisoformat(desk.course.allocated_on) if desk.course.allocated_on else desk.course.day_date(1)
    return datetime(made.year, made.month, made.day, tzinfo=UTC) if made else EPOCH
