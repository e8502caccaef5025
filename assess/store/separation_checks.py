"""Licences, training and waivers of a course: who is seated although something stands against it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from assess.records.course import Course, People
from assess.records.errors import Problem
from assess.records.facts import Waiver
from assess.records.ledger import Ledger
from assess.records.seating import condition_bars
from assess.records.separation import Bar, bars, given_waivers, unwaived, why_not_given
from assess.store.yaml_file import YamlDoc

__all__ = ["Seating", "licence_problems", "said_of"]

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
