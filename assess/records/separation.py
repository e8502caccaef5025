"""Who may not mark whom, and why: no licence for the slot, a declared conflict, training within the window.

Pure rules over the two hand-edited files and the director's waivers. What a waiver covers is no reason any more,
but it is counted and printed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from assess.records.course import Course, People
from assess.records.facts import Waiver
from assess.records.ids import base_task
from assess.records.ledger import Ledger, live_entries
from assess.records.licence import Licence

__all__ = [
    "About", "Bar", "GivenWaiver", "bars", "conflict_bars", "given_waivers", "licence_bar", "licence_in_force",
    "training_bars", "unwaived", "why_not_given",
]  # fmt: skip

About = Literal["licence", "conflict", "trained"]


@dataclass(frozen=True, slots=True)
class Bar:
    """One reason why somebody may not mark a candidate.

    why: in words for everybody. detail: what was declared about it, for those it concerns and the director.
    place: where it stands in `people.yaml`; empty when it is something that is not there.
    """

    about: About
    assessor: str
    candidate: str
    why: str
    detail: str = ""
    place: tuple[str | int, ...] = ()

    @property
    def reason(self) -> str:
        """The whole of it."""
        return f"{self.why}: {self.detail}" if self.detail else self.why


@dataclass(frozen=True, slots=True)
class GivenWaiver:
    """A waiver that counts: given by a director, with a reason (which may have been erased since)."""

    waiver: Waiver
    by: str
    at: str
    ledger: str
    line: int = 0

    def covers(self, course: Course, bar: Bar, task: str) -> bool:
        """True when it lets the assessor mark this candidate in this task although of the bar."""
        said = self.waiver
        known = {item.id for item in course.tasks}
        return (
            said.about == bar.about
            and said.assessor == bar.assessor
            and said.candidate in (None, bar.candidate)
            and said.task in (None, task, base_task(task, known))
        )


def given_waivers(course: Course, ledgers: Iterable[Ledger]) -> tuple[GivenWaiver, ...]:
    """The waivers that count, in the order they were given.

    Only a director's count, with a reason; nobody's for themselves while the course has another director.
    """
    found = [
        GivenWaiver(entry.fact, ledger.header.author, entry.at, ledger.name, entry.line)
        for ledger in ledgers
        if ledger.header.kind == "day"
        for entry in live_entries(ledger)
        if isinstance(entry.fact, Waiver) and why_not_given(course, ledger.header.author, entry.fact) is None
    ]
    return tuple(sorted(found, key=lambda item: (item.at, item.ledger, item.line)))


def why_not_given(course: Course, by: str, waiver: Waiver) -> str | None:
    """Why a waiver counts for nothing, or None when it counts."""
    if by not in course.directors:
        return "is an act of the director by somebody who is none"
    if not waiver.reason and "reason" not in waiver.erased:
        return "is a waiver without a reason"
    if by == waiver.assessor and len(course.directors) > 1:
        return "is a waiver somebody gave to themselves"
    return None


def unwaived(course: Course, found: Iterable[Bar], waivers: Sequence[GivenWaiver], task: str) -> tuple[Bar, ...]:
    """The bars no waiver covers in a task."""
    return tuple(bar for bar in found if not any(item.covers(course, bar, task) for item in waivers))


def bars(course: Course, people: People, assessor: str, task: str, candidate: str) -> tuple[Bar, ...]:
    """Every reason why this person may not mark the slot, waived or not, judged on the day of the slot."""
    day, described = course.held_on(task, candidate), course.task(task)
    licence = licence_bar(course, people, assessor, candidate, described.area, day) if described and day else None
    return (
        *((licence,) if licence else ()),
        *conflict_bars(people, assessor, candidate),
        *training_bars(course, people, assessor, candidate, day),
    )


def conflict_bars(people: People, assessor: str, candidate: str) -> Iterator[Bar]:
    """The conflicts declared between the two."""
    for number, item in enumerate(people.conflicts):
        if (item.assessor, item.candidate) == (assessor, candidate):
            place = ("conflicts", number)
            yield Bar("conflict", assessor, candidate, "a conflict is declared", item.why, place)


def training_bars(
    course: Course, people: People, assessor: str, candidate: str, day: date | None
) -> Iterator[Bar]:  # fmt: skip
    """The training that is not over, or ended not more than the course's `separation_days` before the day."""
    for number, item in enumerate(people.trained):
        if (item.assessor, item.candidate) != (assessor, candidate):
            continue
        place = ("trained", number)
        if item.ended is None:
            yield Bar("trained", assessor, candidate, "they train this candidate", place=place)
        elif day is not None and (day - date.fromisoformat(item.ended)).days <= course.separation_days:
            why = f"they trained this candidate until {item.ended}, and {course.separation_days} days have to go by"
            yield Bar("trained", assessor, candidate, why, place=place)


def licence_in_force(
    licences: Sequence[Licence], assessor: str, activity: str, area: str, day: date
) -> Licence | None:  # fmt: skip
    """The entry that stands for a person, area and day: the last one that speaks of it, suspended or not."""
    spoken = [item for item in licences if item.assessor == assessor and item.speaks_of(activity, area, day)]
    return spoken[-1] if spoken else None


def licence_bar(
    course: Course, people: People, assessor: str, candidate: str, area: str, day: date
) -> Bar | None:  # fmt: skip
    """Why the licence does not cover the area on the day; None when it does, or when the course keeps no licences."""
    if not people.licences:
        return None
    standing = licence_in_force(people.licences, assessor, course.activity, area, day)
    if standing is not None and not standing.suspended:
        return None
    own = [(number, item) for number, item in enumerate(people.licences) if item.assessor == assessor]
    if standing is not None:
        number = max(number for number, item in own if item is standing)
        return Bar("licence", assessor, candidate, "the licence is suspended", place=("licences", number))
    number, why = _not_covered(own, course.activity, area, day)
    return Bar("licence", assessor, candidate, why, place=("licences", number) if own else ())


def _not_covered(own: Sequence[tuple[int, Licence]], activity: str, area: str, day: date) -> tuple[int, str]:
    """The entry that comes nearest, and what it lacks."""
    if not own:
        return 0, "no licence is on record"
    for_area = [(number, item) for number, item in own if item.names(activity, area)]
    over = [(number, item) for number, item in for_area if date.fromisoformat(item.valid_to) < day]
    if over:
        number, item = max(over, key=lambda pair: (pair[1].valid_to, pair[0]))
        return number, f"the licence ended on {item.valid_to}"
    if for_area:
        number, item = min(for_area, key=lambda pair: (pair[1].valid_from, pair[0]))
        return number, f"the licence begins on {item.valid_from} only"
    same = [number for number, item in own if item.activity == activity]
    if same:
        return same[-1], f"the licence is not for area `{area}`"
    return own[-1][0], f"the licence is not for `{activity}`"
