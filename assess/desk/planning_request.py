"""What a course asks of its plan: tasks with their minutes, people with what bars them, the light, what stays."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from assess.records.course import Allocation, Course, CourseTask
from assess.records.ids import base_task
from assess.records.times import wall_minutes

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.planning.request import Bar, Condition, Request, TaskWish
    from assess.planning.results import Turn
    from assess.records.rubric import Task

__all__ = ["begun_tasks", "request_of", "seed_of", "turns_planned", "withdrawn"]

_LONG = 15
"""Tasks of so many minutes go on in all pairs at once unless the course says otherwise."""
_AFTER_LESSON, _BETWEEN_TURNS = 10, 5


def seed_of(course: Course) -> int:
    """The seed when nobody gave one: made of the course's id and its first day, so that nobody picks it."""
    return (
        course.plan.seed
        if course.plan.seed is not None
        else zlib.crc32(f"{course.id} {course.days[0]}".encode()) % 10**6
    )


def request_of(desk: CourseView, seed: int, *, keep: frozenset[str] = frozenset()) -> Request:
    """What the course asks of a plan.

    keep: tasks that stay as they are. Second performances always do.
    """
    from assess.planning.request import Request

    course = desk.course
    tasks = [task for task in course.tasks if task.id not in keep]
    names = dict.fromkeys(task.id for task in course.tasks)
    stays = tuple(
        turn
        for slot in course.allocation
        if base_task(slot.task, set(names)) != slot.task or slot.task in keep
        for turn in _turn(desk, slot)
    )
    days = range(1, len(course.days) + len(course.reserve_days) + 1)
    gone = withdrawn(desk)
    return Request(
        tuple(_wish(desk, task, gone) for task in tasks),
        course.assessors,
        {day: course.plan.light_of(day) for day in days},
        seed,
        course.plan.most_minutes,
        course.plan.between,
        course.plan.fresh,
        tuple(_bars(desk, list(dict.fromkeys((*names, *(turn.task for turn in stays)))))),
        tuple(_conditions(desk, tasks)),
        {
            task.id: tuple(k.assessors for k in course.plan.keep if k.task == task.id and not k.candidate)
            for task in tasks
        },
        {(k.task, k.candidate): k.assessors for k in course.plan.keep if k.candidate and k.task not in keep},
        stays,
        _modules(desk, [*names, *(turn.task for turn in stays)]),
        {learner.id: learner.kind for learner in desk.people.learners},
    )


def begun_tasks(desk: CourseView) -> frozenset[str]:
    """Tasks with a sheet, or with a change of their allocation on record."""
    names = {task.id for task in desk.course.tasks}
    begun = {base_task(task, names) for task, _, _ in desk.shelf.sheet_keys()}
    changed = {slot.task for slot in desk.course.allocation if desk.seats.changes(slot.task, slot.candidate)}
    return frozenset((begun | {base_task(task, names) for task in changed}) & names)


def withdrawn(desk: CourseView) -> frozenset[str]:
    """Candidates who have withdrawn from the course, as the day's records say."""
    from assess.desk.running_order import running_order
    from assess.records.facts import OrderChange

    said = [entry.fact for _, entry in desk.shelf.entries("day") if isinstance(entry.fact, OrderChange)]
    places = running_order(desk.course.candidates, "", said)
    return frozenset(place.candidate for place in places if place.standing == "withdrawn")


def turns_planned(desk: CourseView) -> tuple[Turn, ...]:
    """The allocation as it stands, with the changes of it that are on record, as turns of a plan."""
    return tuple(turn for slot in desk.course.allocation for turn in _turn(desk, slot))


# --- tasks ---------------------------------------------------------------------------------------


def _wish(desk: CourseView, task: CourseTask, gone: frozenset[str]) -> TaskWish:
    from assess.planning.request import TaskWish

    course, said, described = desk.course, desk.course.plan.task(task.id), desk.task(task.id)
    named = said.candidates or course.candidates
    candidates = tuple(who for who in course.candidates if who in named and who not in gone)
    pairs = said.pairs or course.plan.pairs
    at_once = said.at_once or (None if described.lesson or described.minutes >= _LONG else 1)
    most = min(pairs or len(course.assessors) // 2, max(len(candidates), 1))
    return TaskWish(
        task.id,
        desk.rubric_for(task.id).modules_of(task.id),
        task.day,
        candidates,
        described.minutes,
        said.every
        or described.minutes + course.plan.lift_minutes + _after(described, waits=bool(at_once and at_once < most)),
        at_once,
        pairs,
        wall_minutes(said.starts) if said.starts else None,
        described.learners,
        said.learners or _willing(desk),
    )


def _after(task: Task, *, waits: bool) -> int:
    """Minutes to ask and to write up; a pair that waits for another's turn writes while it waits."""
    return _AFTER_LESSON if task.lesson else 0 if waits else _BETWEEN_TURNS


def _willing(desk: CourseView) -> tuple[str, ...]:
    """Learners in the order of the file, without those who said no to lessons."""
    said_no = {each.who for each in desk.people.consents if not each.lesson}
    return tuple(learner.id for learner in desk.people.learners if learner.id not in said_no)


def _modules(desk: CourseView, tasks: list[str]) -> dict[str, tuple[str, ...]]:
    """Every module with its tasks, second performances among them."""
    names = {task.id for task in desk.course.tasks}
    found: dict[str, list[str]] = {}
    for task in dict.fromkeys(tasks):
        base = base_task(task, names)
        for module in desk.rubric_for(base).modules_of(base):
            found.setdefault(module, []).append(task)
    return {module: tuple(of_module) for module, of_module in found.items()}


# --- people --------------------------------------------------------------------------------------


def _bars(desk: CourseView, tasks: list[str]) -> Iterator[Bar]:
    """Why who may not mark whom, judged on the day of the task, whatever day the slot stands on now."""
    from assess.planning.request import Bar
    from assess.records.separation import bars

    course = desk.course.model_copy(update={"allocation": ()})
    for task in tasks:
        for who in course.assessors:
            for candidate in course.candidates:
                for bar in bars(course, desk.people, who, task, candidate):
                    waived = desk.separation.waiver_for(bar, task) is not None
                    # A waived licence makes nobody partial.
                    if not (waived and bar.about == "licence"):
                        why = bar.reason if desk.role == "director" else bar.why
                        yield Bar(who, why, candidate, task, waived)


def _conditions(desk: CourseView, tasks: list[CourseTask]) -> Iterator[Condition]:
    from assess.planning.request import Condition
    from assess.records.separation import licence_in_force

    for task in tasks:
        day: date | None = desk.course.day_date(task.day)
        for who in desk.course.assessors:
            held = licence_in_force(desk.people.licences, who, desk.course.activity, task.area, day) if day else None
            if held is not None and held.conditions:
                yield Condition(who, task.id, "only-second" if "only-second" in held.conditions else "supervised")


# --- what is planned already ---------------------------------------------------------------------


def _turn(desk: CourseView, slot: Allocation) -> Iterator[Turn]:
    from assess.planning.results import Turn

    task = desk.course.task(slot.task)
    if task is None:
        return
    at = wall_minutes(slot.at) if slot.at else None
    until = at + desk.task(slot.task).minutes if at is not None else None
    markers = desk.seats.allocated(slot.task, slot.candidate)
    taken = {*markers, *slot.shadows}
    fresh = tuple(
        who
        for who in desk.course.assessors
        if who not in taken and not desk.separation.bars(who, slot.task, slot.candidate)
    )
    yield Turn(
        slot.task, slot.day or task.day, slot.order, slot.round, slot.pair, at, until, slot.candidate, markers,
        slot.learners, fresh, stays=True,
    )  # fmt: skip
