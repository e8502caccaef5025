"""A trainee's season: `season.yaml` (films of one's own lessons, what one works on; ids only, names in `people.yaml`).

A season is a folder like a course: its films stand where a course has candidates; the trainee and the mentors each
have a sheet of their own for a film, so that scores, observations, locks and merging are those of a course. Nothing
in it is ever a result: a self-assessment is for training.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from assess.records.course import Allocation, Candidate, Course, CourseTask, People, Pin
from assess.records.ids import LongId, ShortId
from assess.records.round import RubricPin
from assess.records.times import CalendarDay

__all__ = ["MOST_OPEN", "NO_RESULT", "FilmFile", "OpenAction", "Practised", "Season", "SeasonFilm"]

Line = Annotated[str, Field(max_length=400)]
NO_RESULT = "this is a season of somebody's own lessons: it has no outcomes, and nothing in it decides anything"
MOST_OPEN = 2
"""Whoever works on ten things works on none (common practice): so many actions may be open."""


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class FilmFile(_Part):
    """Which film it is, wherever it is kept: size in bytes and SHA-256 know it again. path: where it was last seen."""

    path: Line
    size: Annotated[int, Field(ge=0)] | None = None
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] | None = None


class Practised(_Part):
    """What a lesson gave practice in: the learner's ability 1 to 10 and goal, faults treated, the snow, the slope."""

    ability: Annotated[int, Field(ge=1, le=10)] | None = None
    goal: Line = ""
    faults: tuple[LongId, ...] = ()
    snow: LongId | None = None
    slope_deg: Annotated[int, Field(ge=0, le=60)] | None = None


class SeasonFilm(_Part):
    """One filmed lesson. mentors: who looks at it too; all of the season's when left out. learners: aliases' ids."""

    id: ShortId
    date: CalendarDay
    title: Line
    task: ShortId
    film: FilmFile
    practised: Practised = Practised()
    mentors: tuple[ShortId, ...] | None = None
    learners: tuple[ShortId, ...] = ()


class OpenAction(_Part):
    """One thing to work on: a behaviour, how it is checked and by whom, when it is measured again, what came of it."""

    id: ShortId
    behaviour: Line
    how: Line
    checked_by: ShortId
    remeasure_on: CalendarDay
    closed_on: CalendarDay | None = None
    result: Line = ""

    @property
    def is_open(self) -> bool:
        """True until it is closed."""
        return self.closed_on is None


class Season(_Part):
    """`season.yaml`: whose lessons, which films, who looks at them too, and what is being worked on."""

    id: ShortId
    revision: Annotated[int, Field(ge=1)]
    title: Line
    activity: LongId
    language: Annotated[str, Field(pattern=r"^[a-z]{2}(-[A-Z]{2})?$")] = "en"
    utc_offset: Annotated[str, Field(pattern=r"^[+-]\d{2}:[0-5]\d$")] = "+00:00"
    area: LongId
    rubric: RubricPin
    trainee: ShortId
    mentors: tuple[ShortId, ...] = ()
    films: tuple[SeasonFilm, ...]
    actions: tuple[OpenAction, ...] = ()

    @property
    def days(self) -> tuple[str, ...]:
        """The days on which a film was made, in order."""
        return tuple(sorted({film.date for film in self.films}))

    @property
    def open_actions(self) -> tuple[OpenAction, ...]:
        """What is being worked on."""
        return tuple(action for action in self.actions if action.is_open)

    def film(self, film: str) -> SeasonFilm | None:
        """The film with this id."""
        return next((item for item in self.films if item.id == film), None)

    def markers(self, film: SeasonFilm) -> tuple[str, ...]:
        """Who has a sheet of a film: the trainee first, then its mentors."""
        mentors = self.mentors if film.mentors is None else film.mentors
        return (self.trainee, *(who for who in mentors if who != self.trainee))

    def as_course(self, who: str | None = None) -> Course:
        """The season as the rest of the program reads it: films in place of candidates."""
        days = self.days
        return Course(
            id=self.id, revision=self.revision, title=self.title, activity=self.activity, language=self.language,
            utc_offset=self.utc_offset, days=days,
            rubrics=(Pin(area=self.area, rubric=self.rubric.id, sha256=self.rubric.sha256),),
            tasks=tuple(
                CourseTask(id=task, area=self.area, day=1) for task in dict.fromkeys(film.task for film in self.films)
            ),
            candidates=tuple(film.id for film in self.films),
            assessors=(self.trainee, *(mentor for mentor in self.mentors if mentor != self.trainee)),
            directors=(),
            allocation=tuple(
                Allocation(
                    task=film.task, order=place, candidate=film.id, day=days.index(film.date) + 1,
                    assessors=self.markers(film), learners=film.learners,
                )
                for place, film in enumerate(self.films, 1)
            ),
        )  # fmt: skip

    def as_people(self, people: People, who: str | None = None) -> People:
        """The people of the season with its films as candidates, numbered as they are listed."""
        films = tuple(
            Candidate(id=film.id, name=film.title, bib=place, mark=film.date)
            for place, film in enumerate(self.films, 1)
        )
        # A trainee marks their own lesson here, and mentors are the people who train them.
        return people.model_copy(update={"candidates": films, "licences": (), "conflicts": (), "trained": ()})
