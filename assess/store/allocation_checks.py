"""The allocation of a course: known ids, one slot each, nobody twice or in two places, nobody who may not mark."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import combinations, pairwise

from assess.records.course import Allocation, Course, People
from assess.records.errors import Problem
from assess.records.ids import base_task
from assess.records.ledger import Ledger
from assess.records.rubric import Rubric
from assess.records.seating import at_once
from assess.records.times import wall_minutes
from assess.store.separation_checks import Seating, said_of
from assess.store.yaml_file import YamlDoc

__all__ = ["allocation_problems"]

_OTHER = "allocate somebody else, or a director waives it with a reason"
_Turn = tuple[int, int, int]  # from, to (minutes of the day), place in the allocation


def allocation_problems(
    doc: YamlDoc,
    course: Course,
    people: People,
    rubrics: Mapping[str, Rubric],
    ledgers: Iterable[Ledger],
    erased: Collection[str] = (),
) -> list[Problem]:
    """Everything in the allocation that points to nothing or cannot be done, with its line.

    ledgers: those of the course; a waiver in them lifts what it names.
    erased: ids of people who were erased and stay in the allocation as pseudonyms.
    """
    look = _Look(doc, course, people, rubrics, Seating(course, people, ledgers))
    look.learners |= set(erased)
    for place, slot in enumerate(course.allocation):
        look.known(place, slot)
        look.people_of(place, slot)
    look.slots()
    look.times()
    look.pairs()
    return look.problems


class _Look:
    def __init__(
        self, doc: YamlDoc, course: Course, people: People, rubrics: Mapping[str, Rubric], seating: Seating
    ) -> None:  # fmt: skip
        self.doc, self.course, self.rubrics = doc, course, rubrics
        self.problems: list[Problem] = []
        self.tasks = {task.id for task in course.tasks}
        self.markers = {*course.assessors, *course.directors}
        self.learners = {each.id for each in people.learners} | set(course.candidates)
        self.seating = seating
        self.last_day = len(course.days) + len(course.reserve_days)

    def say(self, place: int, key: str | tuple[str | int, ...], what: str, todo: str, *, doubt: bool = False) -> None:
        parts = (key,) if isinstance(key, str) else key
        line = self.doc.line("allocation", place, *parts)
        self.problems.append(Problem(self.doc.shown, line, what, todo, doubt))

    def known(self, place: int, slot: Allocation) -> None:
        """Task, day and everybody named are in the course."""
        if base_task(slot.task, self.tasks) not in self.tasks:
            self.say(place, "task", f"there is no task `{slot.task}`", "name a task of the course")
        if slot.day is not None and slot.day > self.last_day:
            self.say(place, "day", f"the course has no day {slot.day}", f"its last day is {self.last_day}")
        named: tuple[tuple[str, Sequence[str], set[str], str], ...] = (
            ("candidate", (slot.candidate,), set(self.course.candidates), "candidate"),
            ("assessors", slot.assessors, self.markers, "assessor"),
            ("shadows", slot.shadows, self.markers, "assessor"),
            ("learners", slot.learners, self.learners, "learner"),
        )
        for key, ids, known, word in named:
            for number, name in enumerate(ids):
                if name not in known:
                    at: tuple[str | int, ...] = (key,) if key == "candidate" else (key, number)
                    self.say(place, at, f"there is no {word} `{name}`", "name an id of the course")

    def people_of(self, place: int, slot: Allocation) -> None:
        """Nobody is in a slot twice, and nobody marks who may not, or in a seat their licence does not allow."""
        if not slot.assessors:
            self.say(place, "assessors", "nobody marks this slot", "allocate an assessor", doubt=True)
        seen: set[str] = {slot.candidate}
        for key, people in (("assessors", slot.assessors), ("shadows", slot.shadows), ("learners", slot.learners)):
            for number, who in enumerate(people):
                if who in seen:
                    self.say(place, (key, number), f"`{who}` is in this slot twice", "allocate somebody else")
                seen.add(who)
        for key, ids in (("assessors", slot.assessors), ("shadows", slot.shadows)):
            for number, who in enumerate(ids):
                for bar in self.seating.against(who, slot.task, slot.candidate) if who in self.markers else ():
                    # A shadow sheet is in no result, and who learns to assess has no licence yet.
                    if key == "assessors" or bar.about != "licence":
                        self.say(place, (key, number), said_of(bar), _OTHER, doubt=key == "shadows")
        for bar in self.seating.conditions(slot.assessors, slot.task, slot.candidate):
            number = slot.assessors.index(bar.assessor)
            self.say(place, ("assessors", number), f"`{bar.assessor}` may not sit here: {bar.why}", _OTHER)

    def slots(self) -> None:
        """One slot for a candidate and task, one candidate in each place of a running order."""
        slots: dict[tuple[str, str], int] = {}
        places: dict[tuple[str, int], int] = {}
        for place, slot in enumerate(self.course.allocation):
            first = slots.setdefault((slot.task, slot.candidate), place)
            if first != place:
                line = self._line(first)
                what = f"`{slot.candidate}` has task `{slot.task}` twice, first in line {line}"
                self.say(place, "candidate", what, f"a second performance is `{slot.task}-2`")
            first = places.setdefault((slot.task, slot.order), place)
            if first != place:
                what = f"two candidates are in place {slot.order} of task `{slot.task}`"
                self.say(place, "order", what, "count the places through", doubt=True)

    def times(self) -> None:
        """Nobody is in two slots at the same time; overlapping ones are doubtful."""
        turns: dict[tuple[str, int], list[_Turn]] = defaultdict(list)
        for place, slot in enumerate(self.course.allocation):
            task = self.course.task(slot.task)
            if slot.at is None or task is None:
                continue
            start = wall_minutes(slot.at)
            for who in dict.fromkeys((slot.candidate, *slot.assessors, *slot.shadows, *slot.learners)):
                turns[who, slot.day or task.day].append((start, start + self._minutes(slot.task), place))
        for (who, _day), of_who in sorted(turns.items()):
            self._apart(who, sorted(of_who))

    def pairs(self) -> None:
        """Nobody sits in two pairs in one round of a task; slots with a time are told apart by it."""
        rounds: dict[tuple[str, int], list[int]] = defaultdict(list)
        for place, slot in enumerate(self.course.allocation):
            rounds[slot.task, slot.round].append(place)
        for places in rounds.values():
            for first, second in combinations(places, 2):
                one, other = self.course.allocation[first], self.course.allocation[second]
                timed = one.at is not None and other.at is not None
                if timed or not at_once(self.course, one, other, self._minutes):
                    continue
                for who in sorted({*one.assessors} & {*other.assessors}):
                    what = f"`{who}` sits in two pairs at once, the other in line {self._line(first)}"
                    number = other.assessors.index(who)
                    self.say(second, ("assessors", number), what, "seat somebody else, or give the two their times")

    def _apart(self, who: str, turns: Sequence[_Turn]) -> None:
        """The turns of one person on one day, in the order of their times."""
        longest = turns[0]
        for before, (start, _, place) in pairwise(turns):
            longest = max(longest, before, key=lambda turn: turn[1])
            if start == before[0]:
                what = f"`{who}` is in two slots at the same time, the other in line {self._line(before[2])}"
                self.say(place, "at", what, "move one of them")
            elif start < longest[1]:
                what = f"for `{who}` this slot begins before the one in line {self._line(longest[2])} is over"
                self.say(place, "at", what, "move one of them", doubt=True)

    def _line(self, place: int) -> int:
        return self.doc.line("allocation", place)

    def _minutes(self, task: str) -> int:
        pin = self.course.pin(task)
        rubric = self.rubrics.get(pin.reference) if pin else None
        found = rubric.tasks.get(base_task(task, self.tasks)) if rubric else None
        return found.minutes if found else 1
