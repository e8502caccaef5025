"""A calibration round's hand-edited files: `round.yaml` (ids, the rule, no names) and `reference.yaml` (reasons).

A round is a folder like a course: its lessons stand where a course has candidates, and panel and assessors mark each
lesson on a sheet of its own, so that scores, observations, locks and merging are those of a course.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from assess.records.course import Allocation, Candidate, Course, CourseTask, People, Pin
from assess.records.ids import LongId, ShortId, base_task
from assess.records.rubric import Exact

__all__ = [
    "LEAST_PANEL", "RESULTS", "Conditions", "GoodMarker", "LicenceTerms", "PoorMarker", "Qualification", "Reason",
    "Reasons", "Round", "RoundLesson", "RoundResult", "RubricPin",
]  # fmt: skip

Line = Annotated[str, Field(max_length=400)]
IsoDate = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]
RoundResult = Literal["current", "mark-again", "train"]
RESULTS: tuple[RoundResult, ...] = ("current", "mark-again", "train")
LEAST_PANEL = 4
"""A reference is built from at least so many blind markings."""


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class RubricPin(_Part):
    """The rubric the round is marked by: its id and the SHA-256 of its bytes; the copy stands in `rubrics/`."""

    id: LongId
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class RoundLesson(_Part):
    """A lesson everybody marks. film: where it is kept, never the film itself; sha256: of that film, if known.

    written: a written practice lesson instead, as the path of its file in this folder and its id: `lessons/l.yaml S1`.
    """

    id: ShortId
    title: Line
    task: ShortId
    film: Line = ""
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] | None = None
    written: Line = ""


class Conditions(_Part):
    """What a marker has to reach; what is left out is not asked. Shares from 0 to 1, distances in levels.

    scored_at_least: of the criteria that have a reference. exact_at_least, within_one_at_least: of the scores given.
    line_agreement_at_least: of the lessons, on the reference's side of the pass line. severity_at_most: the mean
    distance either way. distance_at_most: the mean distance without its sign. drift_at_most: between the mean distance
    in the first and in the second half of the order. repeats_within_one_at_least: of the scores given twice.
    flat_sheets_at_most: sheets with one level on every criterion.
    """

    scored_at_least: Exact | None = None
    exact_at_least: Exact | None = None
    within_one_at_least: Exact | None = None
    line_agreement_at_least: Exact | None = None
    severity_at_most: Exact | None = None
    distance_at_most: Exact | None = None
    drift_at_most: Exact | None = None
    repeats_within_one_at_least: Exact | None = None
    flat_sheets_at_most: Exact | None = None

    @model_validator(mode="after")
    def _asks_something(self) -> Conditions:
        asked = {key: value for key in type(self).model_fields if (value := getattr(self, key)) is not None}
        if not asked:
            raise ValueError("asks nothing; write at least one condition")
        levels = ("severity_at_most", "distance_at_most", "drift_at_most")
        wrong = [key for key, value in asked.items() if value < 0 or (key not in levels and value > 1)]
        if wrong:
            why = "is below 0" if wrong[0] in levels else "is a share from 0 to 1"
            raise ValueError(f"{wrong[0]} {why}")
        return self


class Qualification(_Part):
    """The rule: all of `current` met, or all of `mark_again`, or else `train`. The tool proposes, a director signs."""

    current: Conditions
    mark_again: Conditions | None = None


class GoodMarker(_Part):
    """Whom the rule should let pass. error: standard deviation of one score in levels; the panel's own if left out."""

    error: Exact | None = None


class PoorMarker(_Part):
    """Whom the rule should stop: so many levels too hard, or less with every lesson, otherwise as the good marker."""

    severity: Exact = Fraction(3, 4)
    drift: Exact = Fraction(1, 10)


class LicenceTerms(_Part):
    """What a result is worth, counted from the day of the round.

    areas: what may be marked; empty means the round's area. months: how long after `current`; again_months,
    again_conditions: after `mark again`; 0 months means no licence follows.
    """

    areas: tuple[LongId, ...] = ()
    months: Annotated[int, Field(ge=1, le=120)] = 12
    again_months: Annotated[int, Field(ge=0, le=120)] = 0
    again_conditions: tuple[Literal["only-second", "supervised"], ...] = ("supervised",)


class Round(_Part):
    """`round.yaml`: who marks which lessons, which of them twice, in which order, and what qualifies.

    panel: at least four markers whose blind sheets make the reference. repeats: lessons the assessors mark twice.
    orders: an assessor's own order of lessons (`L03-2` is the second marking of L03); else as listed, repeats last.
    near_line: a lesson whose reference is at most so far from the pass line is near it. poor: whom the rule stops.
    """

    id: ShortId
    revision: Annotated[int, Field(ge=1)]
    title: Line
    activity: LongId
    date: IsoDate
    place: Line = ""
    language: Annotated[str, Field(pattern=r"^[a-z]{2}(-[A-Z]{2})?$")] = "en"
    utc_offset: Annotated[str, Field(pattern=r"^[+-]\d{2}:[0-5]\d$")] = "+00:00"
    area: LongId
    rubric: RubricPin
    directors: tuple[ShortId, ...]
    panel: tuple[ShortId, ...]
    assessors: tuple[ShortId, ...]
    lessons: tuple[RoundLesson, ...]
    repeats: tuple[ShortId, ...] = ()
    orders: dict[ShortId, tuple[ShortId, ...]] = Field(default_factory=dict)
    near_line: Exact = Fraction(1, 2)
    rule: Qualification
    good: GoodMarker = GoodMarker()
    poor: PoorMarker = PoorMarker()
    licence: LicenceTerms = LicenceTerms()

    @property
    def slots(self) -> tuple[str, ...]:
        """Every lesson and every second marking (`L03-2`), in the order of the file."""
        return (*(lesson.id for lesson in self.lessons), *(f"{lesson}-2" for lesson in self.repeats))

    def lesson(self, slot: str) -> RoundLesson | None:
        """The lesson marked in a slot: of `L03-2` it is L03."""
        by_id = {lesson.id: lesson for lesson in self.lessons}
        return by_id.get(base_task(slot, set(by_id)))

    def markers(self, slot: str) -> tuple[str, ...]:
        """Who marks in a slot: assessors and panel; the panel marks nothing twice."""
        again = slot not in {lesson.id for lesson in self.lessons}
        return self.assessors if again else (*self.assessors, *self.panel)

    def mine(self, who: str) -> tuple[str, ...]:
        """What a person marks, in that person's order."""
        return tuple(slot for slot in self.order(who) if who in self.markers(slot))

    def order(self, who: str | None) -> tuple[str, ...]:
        """All slots in a person's order; slots their own order leaves out come last."""
        given = tuple(slot for slot in self.orders.get(who or "", ()) if slot in self.slots)
        return (*dict.fromkeys(given), *(slot for slot in self.slots if slot not in given))

    def as_course(self, who: str | None = None) -> Course:
        """The round as the rest of the program reads it: lessons in place of candidates, in a person's order."""
        order = self.order(who)
        tasks = dict.fromkeys(lesson.task for lesson in self.lessons)
        return Course(
            id=self.id, revision=self.revision, title=self.title, activity=self.activity, place=self.place,
            language=self.language, utc_offset=self.utc_offset, days=(self.date,),
            rubrics=(Pin(area=self.area, rubric=self.rubric.id, sha256=self.rubric.sha256),),
            tasks=tuple(CourseTask(id=task, area=self.area, day=1) for task in tasks),
            candidates=order,
            assessors=(*self.assessors, *(who for who in self.panel if who not in self.assessors)),
            directors=self.directors,
            allocation=tuple(
                Allocation(task=lesson.task, order=place, candidate=slot, assessors=self.markers(slot))
                for place, slot in enumerate(order, 1)
                if (lesson := self.lesson(slot)) is not None
            ),
        )  # fmt: skip

    def as_people(self, people: People, who: str | None = None) -> People:
        """The people of the round with its lessons as candidates, numbered by their place in a person's order.

        They have no names there: a title is no name of anybody, and would be looked for in free text.
        """
        told = {slot: self.lesson(slot) for slot in self.order(who)}
        lessons = tuple(
            Candidate(id=slot, name="", bib=place, mark=lesson.film or lesson.written)
            for place, (slot, lesson) in enumerate(told.items(), 1)
            if lesson is not None
        )
        # Who is calibrated may have no licence yet, or none any more.
        return people.model_copy(update={"candidates": lessons, "licences": ()})


class Reason(_Part):
    """Why the panel's level is what it is: agreed by the panel after its markings were locked."""

    lesson: ShortId
    criterion: LongId
    reason: Annotated[str, Field(max_length=2000)]


class Reasons(_Part):
    """`reference.yaml`: the panel's reasons. It stays with the director until the assessors have locked."""

    round: ShortId
    revision: Annotated[int, Field(ge=1)]
    reasons: tuple[Reason, ...] = ()

    def of(self, lesson: str, criterion: str) -> str:
        """The reason for a level, or nothing."""
        found = (item.reason for item in self.reasons if (item.lesson, item.criterion) == (lesson, criterion))
        return next(found, "")
