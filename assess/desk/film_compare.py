"""One's own scores of a film beside a mentor's: only once both sheets are locked, and never for a result."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.lesson.results.trainee import ObserverAgreement, SelfAssessment
    from assess.marking.results import Sheet
    from assess.records.season import Season, SeasonFilm

__all__ = ["Beside", "FilmCompared", "compared_films", "film_of", "season_of"]


@dataclass(frozen=True)
class Beside:
    """One criterion: both levels with their sentences, and where in the film each saw it (ms); None: not scored."""

    criterion: str
    label: str
    own: float | None
    other: float | None
    own_words: str
    other_words: str
    own_ms: tuple[int, ...]
    other_ms: tuple[int, ...]


@dataclass(frozen=True)
class FilmCompared:
    """The trainee's sheet of a film beside one mentor's: scores, what each said of the learner, marks of practice."""

    film: str
    mentor: str
    figures: SelfAssessment
    criteria: tuple[Beside, ...]
    own_faults: tuple[str, ...]
    other_faults: tuple[str, ...]
    practice: ObserverAgreement | None


def season_of(desk: Desk) -> Season:
    """The season at this desk. Raises Refusal for a folder that is none."""
    if desk.folder.season is None:
        raise Refusal(f"{desk.folder.root} is no season of films", todo="name a season folder, or a film")
    return desk.folder.season


def film_of(desk: Desk, film: str) -> SeasonFilm:
    """The film with this id. Raises Refusal when the season has none such."""
    season = season_of(desk)
    found = season.film(film)
    if found is None:
        raise Refusal(f"there is no film {film}", todo=f"use one of {', '.join(each.id for each in season.films)}")
    return found


def compared_films(desk: Desk, film: str) -> tuple[FilmCompared, ...]:
    """One comparison for each mentor whose sheet may be seen; none while nothing may be. Refusal for no such film."""
    this, season = film_of(desk, film), season_of(desk)
    mentors = season.markers(this)[1:]
    if not desk.sight.sheet(this.task, film, season.trainee) or not desk.locked(this.task, film, season.trainee):
        return ()
    return tuple(
        _compared(desk, this, season.trainee, mentor)
        for mentor in mentors
        if desk.locked(this.task, film, mentor) and desk.sight.sheet(this.task, film, mentor)
    )


def _compared(desk: Desk, film: SeasonFilm, trainee: str, mentor: str) -> FilmCompared:
    from assess.desk.film_time import agreed_practice
    from assess.lesson.self_assessment import self_assessment

    own, other = (desk.folded(film.task, film.id, who) for who in (trainee, mentor))
    mine, theirs = _levels(own), _levels(other)
    timed = {name: bool(_film_times(own, name)) for name in mine}
    return FilmCompared(
        film.id, mentor, self_assessment(mine, theirs, timed),
        tuple(_beside(desk, film, own, other, name) for name in desk.task(film.task).criteria),
        _faults(own), _faults(other), agreed_practice(own, other),
    )  # fmt: skip


def _levels(sheet: Sheet) -> dict[str, float]:
    return {mark.criterion: float(mark.value) for mark in sheet.marks if mark.value is not None}


def _film_times(sheet: Sheet, criterion: str) -> tuple[int, ...]:
    times = (o.fact.film_ms for o in sheet.observations if criterion in o.fact.criteria)
    return tuple(sorted(ms for ms in times if ms is not None))


def _beside(desk: Desk, film: SeasonFilm, own: Sheet, other: Sheet, name: str) -> Beside:
    described = desk.rubric_for(film.task).criteria[name]
    mine, theirs = _levels(own).get(name), _levels(other).get(name)

    def words(level: float | None) -> str:
        return described.levels.get(int(level), "") if level is not None and level == int(level) else ""

    return Beside(
        name,
        described.label,
        mine,
        theirs,
        words(mine),
        words(theirs),
        _film_times(own, name),
        _film_times(other, name),
    )


def _faults(sheet: Sheet) -> tuple[str, ...]:
    return tuple(f.fact.text or (f.fact.fault or "").replace("-", " ") for f in sheet.named_faults)
