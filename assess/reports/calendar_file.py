"""A programme as a calendar file (RFC 5545): planned times with their zone, the same programme gives the same bytes."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Literal

from assess.records.audience import Audience
from assess.records.text import pictured
from assess.reports.library import library

if TYPE_CHECKING:
    from icalendar import Calendar, Event

__all__ = ["Appointment", "Programme", "Status", "calendar_bytes", "event_id"]

Status = Literal["CONFIRMED", "TENTATIVE", "CANCELLED"]


@dataclass(frozen=True, slots=True)
class Appointment:
    """Something in the programme. start: a day as a whole, or an instant with its zone, for `minutes`.

    key: what it is in the course (`T1/C04`); its identity in calendars comes from it and from the course alone.
    sequence: goes up with every change of it, as RFC 5545 wants it.
    """

    key: str
    start: datetime | date
    minutes: int
    summary: str
    place: str = ""
    description: str = ""
    status: Status = "CONFIRMED"
    sequence: int = 0


@dataclass(frozen=True, slots=True)
class Programme:
    """The appointments of a course for an audience; dated by the record, in UTC. left_out: what has no time yet."""

    course: str
    title: str
    audience: Audience
    promise: str
    dated: datetime
    appointments: tuple[Appointment, ...]
    left_out: tuple[str, ...] = ()


def event_id(course: str, key: str) -> str:
    """The UID of an appointment: the same whenever and wherever the calendar is made."""
    return str(uuid.uuid5(uuid.NAMESPACE_URL, f"assess:course/{course}/{key}"))


def calendar_bytes(programme: Programme) -> bytes:
    """The calendar: CRLF, lines of 75 octets at most, a VTIMEZONE for every zone that is used."""
    with library("icalendar", "a calendar"):
        from icalendar import Calendar

    made = Calendar()
    made.add("prodid", "-//assess//programme//EN")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("name", pictured(programme.title))
    made.add("description", f"{programme.course}: {programme.promise}")
    for item in programme.appointments:
        made.add_component(_event(programme, item))
    _with_zones(made, programme)
    return bytes(made.to_ical())


def _event(programme: Programme, item: Appointment) -> Event:
    from icalendar import Event

    made = Event()
    made.add("uid", event_id(programme.course, item.key))
    made.add("dtstamp", programme.dated)
    made.add("sequence", item.sequence)
    made.add("dtstart", item.start)
    if isinstance(item.start, datetime):
        made.add("duration", timedelta(minutes=item.minutes))
    else:
        made.add("dtend", item.start + timedelta(days=1))
        made.add("transp", "TRANSPARENT")
    made.add("summary", pictured(item.summary))
    if item.place:
        made.add("location", pictured(item.place))
    if item.description:
        made.add("description", "\n".join(map(pictured, item.description.split("\n"))))
    made.add("status", item.status)
    made.add("class", "PRIVATE")
    return made


def _with_zones(made: Calendar, programme: Programme) -> None:
    """Put in the zones, for the years around the course: a rule of a zone reaches no further than is known today."""
    starts = [item.start for item in programme.appointments if isinstance(item.start, datetime)]
    if any(start.tzinfo is not UTC for start in starts):
        first, last = min(start.year for start in starts), max(start.year for start in starts)
        made.add_missing_timezones(first_date=date(first - 1, 1, 1), last_date=date(last + 1, 12, 31))
