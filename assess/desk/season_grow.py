"""A season grows: one more film, one more person who looks at the films. Comments in the files stay."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.desk.film_compare import film_of, season_of
from assess.desk.film_start import id_for
from assess.desk.known_film import film_digest
from assess.desk.season_edit import change_season
from assess.records.errors import Refusal
from assess.records.text import typed
from assess.records.times import day_told

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.season import Season

__all__ = ["add_film", "add_mentor", "change_film", "need_trainee"]


def add_film(desk: Desk, video: Path, *, title: str = "", task: str = "", on: str = "") -> str:
    """Add a film to the season; its id. The film stays where it is.

    title: its file's name when left out; task: that of the last film; on: its day, else the file's own.
    Raises Refusal for anybody but the trainee, a film that is there already, or a task without a lesson; InputError
    for a film that cannot be read.
    """
    from assess.film.film_day import film_day
    from assess.film.film_file import film_file

    season = need_trainee(desk)
    root = desk.folder.root.resolve()
    found = film_file(video, os.path.relpath(video.resolve(), root), digest=film_digest)
    same = [each.id for each in season.films if each.film.sha256 == found.sha256]
    if same:
        raise Refusal(f"{video.name} is {same[0]} already", todo=f"look at it with {same[0]}")
    what = task or season.films[-1].task
    lessons = [name for name, each in desk.rubric_for(season.films[-1].task).tasks.items() if each.lesson]
    if what not in lessons:
        raise Refusal(f"{what} is no lesson of this season", todo=f"say --task, one of {', '.join(lessons)}")
    ids = {each.id for each in season.films}
    ident = next(name for number in range(1, len(ids) + 2) if (name := f"F{number}") not in ids)
    today = date.fromisoformat(desk.today())
    day = day_told(on) if on else film_day(video, today)
    told = {
        "id": ident, "date": day.isoformat(), "title": typed(title or video.stem)[:200], "task": what,
        "film": {"path": found.path, "size": found.size, "sha256": found.sha256},
    }  # fmt: skip
    change_season(desk, lambda data: data["films"].append(told))
    return ident


def change_film(desk: Desk, film: str, *, title: str = "", on: str = "") -> None:
    """Another title or another day for a film; "" leaves it as it is. Raises Refusal for anybody but the trainee."""
    need_trainee(desk)
    film_of(desk, film)
    told = {"title": typed(title).strip()[:200], "date": day_told(on).isoformat() if on else ""}

    def change(data: Any) -> None:
        found = next(item for item in data["films"] if item["id"] == film)
        found.update({key: value for key, value in told.items() if value})

    change_season(desk, change)


def add_mentor(desk: Desk, name: str) -> str:
    """Somebody who looks at the films too, on sheets of their own; their id, which is made of the initials of a name.

    Raises Refusal for anybody but the trainee, or when that id is somebody's already.
    """
    from assess.store.yaml_edit import edit_yaml

    season = need_trainee(desk)
    name = typed(name).strip()[:200]
    ident = id_for(name)
    people = {each.id: each.name for each in desk.folder.people.assessors}
    if ident in season.markers(season.films[-1]) or people.get(ident, name) != name:
        raise Refusal(
            f"{ident} is {people.get(ident, ident)} already", todo="give a name with other initials, or a sign"
        )

    def known(data: Any) -> None:
        data["assessors"].append({"id": ident, "name": name})
        data["revision"] += 1

    if ident not in people:
        edit_yaml(desk.folder.root / "people.yaml", "people", known)
    change_season(desk, lambda data: data.setdefault("mentors", []).append(ident))
    return ident


def need_trainee(desk: Desk) -> Season:
    """The season, for its trainee alone. Raises Refusal for anybody else."""
    season = season_of(desk)
    if desk.who != season.trainee:
        raise Refusal(f"the season is {desk.name(season.trainee)}'s", todo=f"say --as {season.trainee}")
    return season
