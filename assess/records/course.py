"""A course folder's two hand-edited files: `course.yaml` (ids only) and `people.yaml` (the one place with names)."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from assess.records.ids import LongId, ShortId, base_task
from assess.records.licence import Licence
from assess.records.plan import PlanSettings
from assess.records.retention import Retention
from assess.records.times import CalendarDay, CourseDay, Wall, ZoneName, local_instant

__all__ = [
    "Accommodation", "Allocation", "Appeals", "Candidate", "Conflict", "Consent", "Course", "CourseEvent",
    "CourseTask", "Learner", "People", "Person", "Pin", "ProgrammeLine", "Trained",
]  # fmt: skip

Line = Annotated[str, Field(max_length=400)]
IsoDate = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Pin(_Part):
    """Which rubric file is in force for an area from a day on, by the SHA-256 of its bytes."""

    area: LongId
    rubric: LongId
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    from_day: CourseDay = 1
    by: ShortId | None = None
    at: Wall | None = None
    reason: Line = ""
    told_before: ShortId | None = None

    @property
    def reference(self) -> str:
        """The pin as sheets write it: `sha256:...`."""
        return f"sha256:{self.sha256}"


class CourseTask(_Part):
    """A task of the rubric as this course holds it: its area, its day, its ground.

    colour: how the place marks the run; colours mean different things elsewhere, so nothing is computed from it.
    """

    id: ShortId
    area: LongId
    day: CourseDay
    place: Line = ""
    slope_deg: Annotated[int, Field(ge=0, le=60)] | None = None
    colour: Line = ""
    snow: Line = ""
    plan_b: Line = ""


class Allocation(_Part):
    """One slot: who does the task in which place of the running order, and who marks it."""

    task: ShortId
    order: Annotated[int, Field(ge=1)]
    round: Annotated[int, Field(ge=1)] = 1
    pair: Annotated[int, Field(ge=1)] = 1
    at: Wall | None = None
    day: CourseDay | None = None
    candidate: ShortId
    assessors: tuple[ShortId, ...]
    shadows: tuple[ShortId, ...] = ()
    learners: tuple[ShortId, ...] = ()


class ProgrammeLine(_Part):
    """A line of the programme as people read it."""

    day: CourseDay
    text: Line


class CourseEvent(_Part):
    """Something the course records about itself; `release` lets assessors or candidates see module outcomes."""

    day: CourseDay
    at: Wall
    kind: LongId
    by: ShortId | None = None
    who: ShortId | None = None
    about: Line = ""
    to: Literal["assessors", "candidates"] | None = None
    modules: Literal["all"] | tuple[LongId, ...] = "all"
    candidates: Literal["all"] | tuple[ShortId, ...] = "all"
    note: Line = ""


class Appeals(_Part):
    """The clocks of an appeal, in days: to file it after the decision, to acknowledge it, to find on it."""

    file_within_days: Annotated[int, Field(ge=1, le=365)] = 28
    acknowledge_days: Annotated[int, Field(ge=1, le=90)] = 7
    find_days: Annotated[int, Field(ge=1, le=365)] = 30


class Course(_Part):
    """`course.yaml`: some days on which candidates are assessed.

    separation_days: whoever trained a candidate may not assess them before so many days have gone by since the end
    of the training; the last of them still counts. 0: from the day after its end.
    timezone: the IANA name of the place's zone (`Europe/Zurich`), for planned times and calendars; without one the
    offset holds on every day.
    allocated_on: the day the allocation was made; what was agreed for a candidate comes before it.
    retention: how long names, contacts and free text are kept.
    """

    id: ShortId
    revision: Annotated[int, Field(ge=1)]
    title: Line
    activity: LongId
    place: Line = ""
    language: Annotated[str, Field(pattern=r"^[a-z]{2}(-[A-Z]{2})?$")] = "en"
    utc_offset: Annotated[str, Field(pattern=r"^[+-]\d{2}:[0-5]\d$")] = "+00:00"
    timezone: ZoneName = ""
    days: tuple[IsoDate, ...]
    reserve_days: tuple[IsoDate, ...] = ()
    programme: tuple[ProgrammeLine, ...] = ()
    rubrics: tuple[Pin, ...]
    tasks: tuple[CourseTask, ...]
    candidates: tuple[ShortId, ...]
    assessors: tuple[ShortId, ...]
    directors: tuple[ShortId, ...]
    separation_days: Annotated[int, Field(ge=0, le=36500)] = 730
    plan: PlanSettings = PlanSettings()
    appeals: Appeals = Appeals()
    retention: Retention = Retention()
    allocated_on: CalendarDay | None = None
    allocation: tuple[Allocation, ...] = ()
    events: tuple[CourseEvent, ...] = ()

    def task(self, task: str) -> CourseTask | None:
        """The task with this id, or the one a second performance (`T2-2`) belongs to."""
        by_id = {item.id: item for item in self.tasks}
        return by_id.get(base_task(task, set(by_id)))

    def pin(self, task: str) -> Pin | None:
        """The rubric in force for a task: the latest pin of its area not later than its day."""
        found = self.task(task)
        if found is None:
            return None
        pins = [pin for pin in self.rubrics if pin.area == found.area and pin.from_day <= found.day]
        return max(pins, key=lambda pin: pin.from_day, default=None)

    def slot(self, task: str, candidate: str) -> Allocation | None:
        """The allocation of a slot, or None when there is none."""
        return next((a for a in self.allocation if a.task == task and a.candidate == candidate), None)

    def day_date(self, day: int) -> date | None:
        """The date of a day of the course; reserve days follow the others."""
        dates = (*self.days, *self.reserve_days)
        return date.fromisoformat(dates[day - 1]) if 1 <= day <= len(dates) else None

    def held_on(self, task: str, candidate: str) -> date | None:
        """The date of a slot: its own day, else its task's; None where the course has no such day."""
        slot, described = self.slot(task, candidate), self.task(task)
        return self.day_date((slot.day if slot else None) or (described.day if described else 0))

    def planned_at(self, slot: Allocation) -> str | None:
        """The instant a slot is planned for, or None without a time."""
        task = self.task(slot.task)
        day = self.day_date(slot.day or (task.day if task else 0))
        return local_instant(day, slot.at, self.utc_offset, self.timezone) if day and slot.at else None


class Person(_Part):
    """An assessor or a director."""

    id: ShortId
    name: Line
    role: Line = ""
    contact: Line = ""
    languages: tuple[Line, ...] = ()


class Candidate(_Part):
    """A candidate: name, bib, and one further mark by which they are told on the hill."""

    id: ShortId
    name: Line
    bib: Annotated[int, Field(ge=0, le=9999)]
    mark: Line = ""
    contact: Line = ""


class Learner(_Part):
    """Somebody a candidate teaches: an alias only."""

    id: ShortId
    alias: Line
    kind: Literal["guest", "child", "candidate"] = "guest"


class Conflict(_Part):
    """An assessor who may not mark a candidate, and why."""

    assessor: ShortId
    candidate: ShortId
    why: Line
    declared_at: IsoDate | None = None


class Trained(_Part):
    """An assessor trained a candidate; `ended` is the last day of it, empty while it goes on."""

    assessor: ShortId
    candidate: ShortId
    ended: CalendarDay | None = None


class Accommodation(_Part):
    """What was agreed for a candidate before the allocation: how a task is put, when, or where. It moves no level.

    tasks: those it touches, all when none is named. agreed_by: a director.
    """

    candidate: ShortId
    what: Line
    changes: Literal["presentation", "time", "place"]
    tasks: tuple[ShortId, ...] = ()
    agreed_by: ShortId
    agreed_at: CalendarDay


class Consent(_Part):
    """What a person (or for a child a guardian) agreed to.

    film: to be filmed and for films of them to be used; lesson: to be taught in an assessment. clip: which film it is
    about, as it is called where it is kept; empty for all. scope: what a film may be used for (assessing alone, when
    nothing is said). until: its last day; then the film is deleted. withdrawn: since that day it counts no more.
    """

    who: ShortId
    film: bool = False
    lesson: bool = False
    clip: Line = ""
    scope: tuple[Literal["assess", "train", "publish"], ...] = ()
    by: Line = ""
    guardian: Line = ""
    at: IsoDate | None = None
    until: CalendarDay | None = None
    withdrawn: CalendarDay | None = None


class People(_Part):
    """`people.yaml`: the one file with names: contacts, bibs, conflicts, training, licences, what was agreed."""

    revision: Annotated[int, Field(ge=1)]
    candidates: tuple[Candidate, ...]
    assessors: tuple[Person, ...]
    directors: tuple[Person, ...]
    learners: tuple[Learner, ...] = ()
    reviewers: tuple[Person, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    trained: tuple[Trained, ...] = ()
    licences: tuple[Licence, ...] = ()
    accommodations: tuple[Accommodation, ...] = ()
    consents: tuple[Consent, ...] = ()

    def name(self, who: str) -> str:
        """The name behind an id; the id itself when there is none."""
        everyone: tuple[Person | Candidate, ...] = (
            *self.candidates, *self.assessors, *self.directors, *self.reviewers,
        )  # fmt: skip
        return next((person.name for person in everyone if person.id == who), who)
