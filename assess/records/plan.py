"""What a plan is made from: the section `plan` of `course.yaml`. Everything in it may be left out."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from assess.records.ids import ShortId
from assess.records.times import CourseDay, Wall, wall_minutes

__all__ = ["HalfDay", "KeptSeat", "PlanDay", "PlanSettings", "PlanTask", "half_day_minutes"]

HalfDay = Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d-([01]\d|2[0-3]):[0-5]\d$")]
"""A time without a break in which marking is possible, as wall times: `09:00-12:00`."""

Minutes = Annotated[int, Field(ge=0, le=600)]
Few = Annotated[int, Field(ge=1, le=60)]


def half_day_minutes(text: str) -> tuple[int, int]:
    """From and to of a half-day, in minutes of the day: `09:00-12:00` is (540, 720)."""
    start, _, end = text.partition("-")
    return wall_minutes(start), wall_minutes(end)


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class PlanDay(_Part):
    """A day whose usable light is another than usual."""

    day: CourseDay
    light: tuple[HalfDay, ...]


class PlanTask(_Part):
    """How one task is run.

    starts: not before this time. every: minutes from the start of one turn to the start of the next in the same
    place; unless given, the rubric's minutes, and 10 more after a lesson (questions and writing up) or 5 more where
    a pair has no turn to wait. at_once: turns at the same time; unless given, all pairs' for lessons and for tasks
    of 15 minutes or more, otherwise one. pairs: how many pairs mark this task.
    candidates: who does it; nobody named means everybody. learners: whom they teach; nobody named means all listed.
    """

    task: ShortId
    starts: Wall | None = None
    every: Annotated[int, Field(ge=1, le=600)] | None = None
    at_once: Few | None = None
    pairs: Few | None = None
    candidates: tuple[ShortId, ...] = ()
    learners: tuple[ShortId, ...] = ()


class KeptSeat(_Part):
    """A seating the director wants: these two mark the candidate; without a candidate they are a pair in the task."""

    task: ShortId
    candidate: ShortId | None = None
    assessors: tuple[ShortId, ShortId]


class PlanSettings(_Part):
    """What the director says about the plan.

    seed: what the running orders were drawn with. light: the half-days in which marking is possible, on every day
    that is not listed under `days`. most_minutes: marking on one day. between: minutes from the end of a task to the
    start of the next. lift_minutes: added to every turn. pairs: as many pairs as this in every task; unless given,
    as many as the assessors make. fresh: assessors who may mark the candidate and have no sheet in the slot.
    """

    seed: Annotated[int, Field(ge=0, le=999_999_999)] | None = None
    light: tuple[HalfDay, ...] = ("09:00-12:00", "13:00-15:30")
    days: tuple[PlanDay, ...] = ()
    most_minutes: Annotated[int, Field(ge=1, le=1440)] = 300
    between: Minutes = 15
    lift_minutes: Minutes = 0
    pairs: Few | None = None
    fresh: Annotated[int, Field(ge=0, le=20)] = 1
    tasks: tuple[PlanTask, ...] = ()
    keep: tuple[KeptSeat, ...] = ()

    def task(self, task: str) -> PlanTask:
        """What is said about a task; a task without a line of its own has the usual values."""
        return next((each for each in self.tasks if each.task == task), PlanTask(task=task))

    def light_of(self, day: int) -> tuple[tuple[int, int], ...]:
        """The half-days of a day, in minutes of the day."""
        texts = next((each.light for each in self.days if each.day == day), self.light)
        return tuple(half_day_minutes(text) for text in texts)
