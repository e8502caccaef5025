"""Licences, training and waivers of a course: who is seated although something stands against it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from assess.records.course import Accommodation, Course, People
from assess.records.errors import Problem
from assess.records.facts import Waiver
from assess.records.ids import base_task
from assess.records.ledger import Ledger
from assess.records.seating import condition_bars
from assess.records.separation import Bar, bars, given_waivers, unwaived, why_not_given
from assess.store.yaml_file import YamlDoc

__all__ = ["Seating", "accommodation_problems", "licence_problems", "said_of"]

_Said = Iterator[tuple[str, str, bool]]


class Seating:
    """What stands against people in slots, the waivers that count taken off."""

    def __init__(self, course: Course, people: People, ledgers: Iterable[Ledger]) -> None:
        self.course, self.people = course, people
        self.waivers = given_waivers(course, ledgers)

    def against(self, who: str, task: str, candidate: str) -> tuple[Bar, ...]:
        """Why somebody may not mark a slot, whoever sits beside them."""
        found = bars(self.course, self.people, who, task, candidate)
        return unwaived(self.course, found, self.waivers, task)

    def conditions(self, seated: Sequence[str], task: str, candidate: str) -> tuple[Bar, ...]:
        """Whose licence asks for another seat."""
        found = condition_bars(self.course, self.people, seated, task, candidate)
        return unwaived(self.course, found, self.waivers, task)

    def given(self, seated: Sequence[str], task: str, candidate: str) -> _Said:
        """What is wrong with an act that seats these in a slot."""
        for who in seated:
            for bar in self.against(who, task, candidate):
                yield said_of(bar), "give it to somebody else, or a director waives it with a reason", False

    def waiver(self, by: str, waiver: Waiver) -> _Said:
        """Why a waiver counts for nothing."""
        why = why_not_given(self.course, by, waiver)
        if why is not None:
            yield f"{why}; it counts for nothing", "a director gives it, with a reason", False


def said_of(bar: Bar) -> str:
    """The bar as a problem: of a conflict that it is declared, without what was said about it."""
    if bar.about == "conflict":
        return f"`{bar.assessor}` has declared a conflict with `{bar.candidate}`"
    return f"`{bar.assessor}` may not mark `{bar.candidate}`: {bar.why}"


def licence_problems(doc: YamlDoc, course: Course, people: People) -> list[Problem]:
    """Licences and training of people the course does not have, or that end before they begin."""
    found = []
    staff = {*course.assessors, *course.directors}
    named = [("licences", n, "assessor", item.assessor, staff) for n, item in enumerate(people.licences)]
    named += [("trained", n, "assessor", item.assessor, staff) for n, item in enumerate(people.trained)]
    named += [
        ("trained", n, "candidate", item.candidate, set(course.candidates)) for n, item in enumerate(people.trained)
    ]
    for key, place, part, who, known in named:
        if who not in known:
            line = doc.line(key, place, part)
            what = f"there is nobody `{who}` in this course"
            found.append(Problem(doc.shown, line, what, "name an id of the course"))
    for place, item in enumerate(people.licences):
        if item.valid_to < item.valid_from:
            line = doc.line("licences", place, "valid_to")
            found.append(Problem(doc.shown, line, "the licence ends before it begins", "correct one of the two days"))
    return found


def accommodation_problems(doc: YamlDoc, course: Course, people: People) -> list[Problem]:
    """Accommodations of nobody, agreed by nobody who may, or not before the slots they touch were allocated.

    Where course.yaml does not say when that was, the day of the first of these slots stands for it.
    """
    found = []
    known = {task.id for task in course.tasks}
    for place, item in enumerate(people.accommodations):
        at = ("accommodations", place)
        if item.candidate not in course.candidates:
            what = f"there is nobody `{item.candidate}` in this course"
            found.append(Problem(doc.shown, doc.line(*at, "candidate"), what, "name an id of the course"))
        if item.agreed_by not in course.directors:
            what = f"`{item.agreed_by}` is no director of this course"
            found.append(Problem(doc.shown, doc.line(*at, "agreed_by"), what, "a director agrees to it"))
        for number, task in enumerate(item.tasks):
            if base_task(task, known) not in known:
                line = doc.line(*at, "tasks", number)
                found.append(Problem(doc.shown, line, f"there is no task `{task}`", "name a task of the course"))
        limit, which = _before(course, item)
        if limit and item.agreed_at >= limit:
            what = f"was agreed on {item.agreed_at}, not before {which}"
            todo = "what is agreed later touches no slot that is allocated: allocate it anew on another day"
            found.append(Problem(doc.shown, doc.line(*at, "agreed_at"), what, todo))
    return found


def _before(course: Course, item: Accommodation) -> tuple[str, str]:
    """The day before which it had to be agreed, and what was on it; empty when it touches no slot yet."""
    known = {task.id for task in course.tasks}
    touched = [
        slot
        for slot in course.allocation
        if slot.candidate == item.candidate
        and (not item.tasks or {slot.task, base_task(slot.task, known)} & {*item.tasks})
    ]
    if not touched:
        return "", ""
    if course.allocated_on is not None:
        return course.allocated_on, f"the allocation was made ({course.allocated_on})"
    days = [day.isoformat() for slot in touched if (day := course.held_on(slot.task, slot.candidate))]
    first = min(days, default="")
    return first, f"the first slot it touches ({first})"
