"""The section `plan` of `course.yaml`: known ids, half-days in order, turns that are long enough."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import pairwise

from assess.records.course import Course, People
from assess.records.errors import Problem
from assess.records.plan import half_day_minutes
from assess.records.rubric import Rubric
from assess.store.yaml_file import YamlDoc

__all__ = ["plan_problems"]

_Place = Sequence[str | int]


def plan_problems(
    doc: YamlDoc, course: Course, people: People, rubrics: Mapping[str, Rubric], erased: Collection[str] = ()
) -> list[Problem]:
    """Everything in the plan's settings that points to nothing or contradicts itself, with its line.

    erased: ids of people who were erased and stay in the plan as pseudonyms.
    """
    look = _Look(doc, course, people, rubrics)
    look.learners |= set(erased)
    look.half_days()
    look.tasks()
    look.kept()
    return look.problems


class _Look:
    def __init__(self, doc: YamlDoc, course: Course, people: People, rubrics: Mapping[str, Rubric]) -> None:
        self.doc, self.course, self.rubrics = doc, course, rubrics
        self.problems: list[Problem] = []
        self.plan = course.plan
        self.known_tasks = [task.id for task in course.tasks]
        self.learners = {each.id for each in people.learners} | set(course.candidates)
        self.conflicts = {(each.assessor, each.candidate) for each in people.conflicts}

    def say(self, place: _Place, what: str, todo: str) -> None:
        self.problems.append(Problem(self.doc.shown, self.doc.line("plan", *place), what, todo))

    def half_days(self) -> None:
        """Each ends after it begins, none begins before the one before it has ended; a day is listed once."""
        self._light(("light",), self.plan.light)
        last = len(self.course.days) + len(self.course.reserve_days)
        seen: set[int] = set()
        for number, day in enumerate(self.plan.days):
            at = ("days", number, "day")
            if day.day > last:
                self.say(at, f"the course has no day {day.day}", f"its last day is {last}")
            elif day.day in seen:
                self.say(at, f"day {day.day} stands twice", "keep one of the two")
            seen.add(day.day)
            self._light(("days", number, "light"), day.light)

    def _light(self, place: _Place, texts: Sequence[str]) -> None:
        halves = [half_day_minutes(text) for text in texts]
        for number, (start, end) in enumerate(halves):
            if start >= end:
                self.say((*place, number), f"`{texts[number]}` ends before it begins", "write from-to: 09:00-12:00")
        for number, (before, after) in enumerate(pairwise(halves), 1):
            if after[0] < before[1]:
                what = f"`{texts[number]}` begins before the half-day before it has ended"
                self.say((*place, number), what, "put the half-days in order")

    def tasks(self) -> None:
        """One line for a task of the course; who is named is known; a turn is no shorter than the rubric says."""
        for number, wish in enumerate(self.plan.tasks):
            at = ("tasks", number)
            if wish.task not in self.known_tasks:
                self.say((*at, "task"), f"there is no task `{wish.task}`", "name a task of the course")
                continue
            if wish.task in [each.task for each in self.plan.tasks[:number]]:
                self.say((*at, "task"), f"task `{wish.task}` stands twice", "keep one of the two")
            self._known((*at, "candidates"), wish.candidates, self.course.candidates, "candidate")
            self._known((*at, "learners"), wish.learners, self.learners, "learner")
            minutes = self._minutes(wish.task)
            if wish.every is not None and minutes is not None and wish.every < minutes:
                what = f"`{wish.task}` takes {minutes} minutes, the next turn begins after {wish.every}"
                self.say((*at, "every"), what, f"write {minutes} or more")
            if wish.at_once is not None and wish.pairs is not None and wish.at_once > wish.pairs:
                what = f"{wish.at_once} turns at once need as many pairs, there are {wish.pairs}"
                self.say((*at, "at_once"), what, "lower `at_once` or raise `pairs`")

    def kept(self) -> None:
        """Two different assessors of the course, neither in conflict with the candidate; no seating twice."""
        seen: set[tuple[str, str | None, frozenset[str]]] = set()
        for number, seat in enumerate(self.plan.keep):
            at = ("keep", number)
            if seat.task not in self.known_tasks:
                self.say((*at, "task"), f"there is no task `{seat.task}`", "name a task of the course")
            if seat.candidate is not None:
                self._known((*at,), (seat.candidate,), self.course.candidates, "candidate", "candidate")
            self._known((*at, "assessors"), seat.assessors, self.course.assessors, "assessor")
            if seat.assessors[0] == seat.assessors[1]:
                self.say((*at, "assessors"), f"`{seat.assessors[0]}` is named twice", "name two assessors")
            for who in seat.assessors:
                if (who, seat.candidate) in self.conflicts:
                    what = f"`{who}` has declared a conflict with `{seat.candidate}`"
                    self.say((*at, "assessors"), what, "name somebody else")
            key = (seat.task, seat.candidate, frozenset(seat.assessors) if seat.candidate is None else frozenset())
            if key in seen:
                self.say(at, "this seating stands twice", "keep one of the two")
            seen.add(key)

    def _known(self, place: _Place, names: Iterable[str], known: Iterable[str], word: str, key: str = "") -> None:
        for number, name in enumerate(names):
            if name not in known:
                self.say((*place, key or number), f"there is no {word} `{name}`", "name an id of the course")

    def _minutes(self, task: str) -> int | None:
        pin = self.course.pin(task)
        rubric = self.rubrics.get(pin.reference) if pin else None
        return rubric.tasks[task].minutes if rubric and task in rubric.tasks else None
