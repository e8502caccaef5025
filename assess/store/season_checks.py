"""Cross references of `season.yaml`: ids, films, mentors, tasks, what is worked on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from assess.records.errors import Problem
from assess.records.rubric import Rubric
from assess.records.season import MOST_OPEN, Season, SeasonFilm
from assess.store.yaml_file import YamlDoc

__all__ = ["season_problems"]

_Said = Iterator[tuple[tuple[str | int, ...], str, str]]


def season_problems(doc: YamlDoc, this: Season, rubrics: Mapping[str, Rubric], root: Path) -> list[Problem]:
    """Everything in `season.yaml` that points to nothing or contradicts itself."""
    rubric = rubrics.get(f"sha256:{this.rubric.sha256}")
    parts = (_people(this), _films(this, rubric), _actions(this))
    return [Problem(doc.shown, doc.line(*place), what, todo) for part in parts for place, what, todo in part]


def _people(this: Season) -> _Said:
    for place, who in enumerate(this.mentors):
        if who == this.trainee:
            yield ("mentors", place), f"`{who}` is the trainee", "a mentor is somebody else: take the id out"
        elif who in this.mentors[:place]:
            yield ("mentors", place), f"the id `{who}` stands twice", "take one out"


def _films(this: Season, rubric: Rubric | None) -> _Said:
    if rubric is not None and this.area not in rubric.areas:
        yield ("area",), f"rubric `{rubric.id}` has no area `{this.area}`", f"one of {', '.join(rubric.areas)}"
    ids = [film.id for film in this.films]
    for number, film in enumerate(this.films):
        if film.id in ids[:number] or film.id in (this.trainee, *this.mentors):
            yield ("films", number, "id"), f"the id `{film.id}` stands twice", "an id is given once: change one"
        yield from _task(this, number, film, rubric)
        for place, who in enumerate(film.mentors or ()):
            if who not in this.mentors:
                yield ("films", number, "mentors", place), f"`{who}` is no mentor of the season", "list them there"


def _task(this: Season, number: int, film: SeasonFilm, rubric: Rubric | None) -> _Said:
    if rubric is None:
        return
    lessons = [name for name, each in rubric.tasks.items() if each.area == this.area and each.lesson]
    if film.task not in lessons:
        what = f"rubric `{rubric.id}` has no lesson `{film.task}` in area `{this.area}`"
        yield ("films", number, "task"), what, f"its lessons there: {', '.join(lessons) or 'none'}"


def _actions(this: Season) -> _Said:
    ids: Sequence[str] = [action.id for action in this.actions]
    for number, action in enumerate(this.actions):
        if action.id in ids[:number]:
            yield ("actions", number, "id"), f"the id `{action.id}` stands twice", "an id is given once: change one"
        if action.checked_by not in (this.trainee, *this.mentors):
            what = f"`{action.checked_by}` is neither the trainee nor a mentor"
            yield ("actions", number, "checked_by"), what, "name who checks it"
    for number in [place for place, action in enumerate(this.actions) if action.is_open][MOST_OPEN:]:
        what = f"more than {MOST_OPEN} actions are open"
        yield ("actions", number), what, "close one (`closed_on`), or leave this one for later"
