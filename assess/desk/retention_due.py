"""What is kept about people, until when, and what is due to go: a dry run, nothing is changed here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from assess.records.retention import contacts_until, records_until

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.course import Candidate, Person

__all__ = ["CourseDue", "Kept", "course_due"]


@dataclass(frozen=True)
class Kept:
    """One kind of thing kept about some people: the last day it is kept, and what to do when that is over.

    days: until then; less than 0 when it is due. held: whose data is held beyond it, each with why.
    """

    what: str
    who: tuple[str, ...]
    until: date
    days: int
    todo: str
    held: tuple[tuple[str, str], ...] = ()

    @property
    def due(self) -> bool:
        """True when the last day is over and there is somebody it is not held for."""
        return self.days < 0 and len(self.held) < len(self.who)


@dataclass(frozen=True)
class CourseDue:
    """A course, and what is kept in it, the earliest first."""

    course: str
    title: str
    kept: tuple[Kept, ...]

    @property
    def due(self) -> bool:
        """True when something is."""
        return any(each.due for each in self.kept)


def course_due(desk: Desk) -> CourseDue:
    """What one course keeps about people; who was erased is in it no more."""
    kept = sorted(_kept(desk), key=lambda each: (each.until, each.what))
    return CourseDue(desk.course.id, desk.course.title, tuple(kept))


def _kept(desk: Desk) -> Iterator[Kept]:
    people, today = desk.people, date.fromisoformat(desk.today())
    staff = (*people.assessors, *people.directors, *people.reviewers)
    listed: tuple[Candidate | Person, ...] = (*people.candidates, *staff)
    everybody = (*(each.id for each in listed), *(each.id for each in people.learners))
    whole, contacts = (until(desk.course.retention, desk.course.days) for until in (records_until, contacts_until))
    if everybody:
        yield _one(desk, "names and free text", everybody, whole, today, "assess person erase COURSE ID")
    reached = tuple(each.id for each in listed if each.contact)
    if reached and contacts < whole:
        yield _one(desk, "contacts", reached, contacts, today, "take them out of people.yaml")
    ends: dict[str, list[str]] = {}
    for consent in people.consents:
        last = consent.withdrawn or consent.until
        if consent.film and last:
            ends.setdefault(last, []).append(f"{consent.who} {consent.clip}".strip())
    for last, clips in ends.items():
        yield _one(desk, "films", tuple(clips), date.fromisoformat(last), today, "delete them where they are kept")


def _one(desk: Desk, what: str, who: tuple[str, ...], until: date, today: date, todo: str) -> Kept:
    held = tuple(
        (hold.who, f"{hold.why} (until {hold.until})" if hold.until else hold.why)
        for hold in desk.course.retention.holds
        if hold.who in who and (hold.until is None or today <= date.fromisoformat(hold.until))
    )
    return Kept(what, who, until, (until - today).days, todo, held)
