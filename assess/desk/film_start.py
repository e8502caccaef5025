"""From a film to a season in one command: a folder beside it, at most three questions, the film itself untouched."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from json import dumps
from pathlib import Path
from typing import TYPE_CHECKING
from unicodedata import normalize

from assess.desk.known_film import film_digest
from assess.records.errors import Refusal, StorageTrouble, UsageError
from assess.records.ids import is_short_id
from assess.records.text import typed
from assess.records.times import day_told

if TYPE_CHECKING:
    from assess.records.rubric import Rubric
    from assess.records.season import FilmFile, Season

__all__ = ["Question", "film_at", "id_for", "is_season", "season_at", "season_beside", "season_for"]

Question = Callable[[str, Sequence[tuple[str, str]]], "str | None"]
"""Asks something with (answer, words) to choose from (none: anything) and gives the answer, None for none."""


@dataclass(frozen=True)
class _Chosen:
    trainee: str
    name: str
    activity: str
    rubric: Path
    task: str


def is_season(path: Path) -> bool:
    """True for a season's folder."""
    return (path / "season.yaml").is_file() and not (path / "course.yaml").exists()


def season_beside(film: Path) -> Path:
    """Where the season of a film stands that has none yet: `lesson.mp4` has `lesson-season/` beside it."""
    return film.with_name(f"{film.stem}-season")


def season_for(
    film: Path,
    today: date,
    *,
    trainee: str = "",
    task: str = "",
    activity: str = "",
    on: str = "",
    ask: Question | None = None,
) -> tuple[Path, str]:
    """The season of a film and who its trainee is: the one beside it, or a new one once what is missing was asked.

    on: the day of the film; its own when left out.
    Raises UsageError naming the options when something is missing and nobody can be asked, InputError for a film
    that cannot be read, Refusal when something else stands in the season's place.
    """
    from assess.film.film_day import film_day
    from assess.film.film_file import film_file, need_film

    root = season_beside(film)
    if is_season(root):
        return root, season_at(root).trainee
    if root.exists() and not _left_unfinished(root):
        raise Refusal(f"{root} is there already and is no season", todo="move it away, or name a season's folder")
    need_film(film, f"../{film.name}")
    day = day_told(on) if on else film_day(film, today)
    chosen = _chosen(trainee, task, activity, ask or (lambda question, choices: None))
    # After the questions: a film of hours takes its time to be read.
    found = film_file(film, f"../{film.name}", digest=film_digest)
    raw = chosen.rubric.read_bytes()
    lines = _season_lines(root.name, chosen, hashlib.sha256(raw).hexdigest(), film, found, day)
    people = ["# assess people 1", "revision: 1", "candidates: []", "assessors:",
              f"- {{id: {chosen.trainee}, name: {_quoted(chosen.name)}}}", "directors: []"]  # fmt: skip
    digest = hashlib.sha256(raw).hexdigest()
    _write(root / "rubrics" / f"{chosen.rubric.stem}@{digest[:8]}.yaml", raw)
    _write(root / "people.yaml", _text(people))
    # Last, because a folder is a season once it holds this file.
    _write(root / "season.yaml", _text(lines))
    return root, chosen.trainee


def _left_unfinished(root: Path) -> bool:
    """True for a folder in which a season was begun and not finished: a disk that was full, a power cut."""
    if not root.is_dir() or root.is_symlink():
        return False
    return {path.name for path in root.iterdir()} <= {"rubrics", "people.yaml"}


def _season_lines(name: str, chosen: _Chosen, digest: str, film: Path, found: FilmFile, day: date) -> list[str]:
    from assess.desk.scaffold import course_id

    area = _rubric(chosen.rubric).tasks[chosen.task].area
    title, path = _quoted(film.stem[:200]), _quoted(found.path)
    return [
        "# assess season 1",
        f"id: {course_id(name)}",
        "revision: 1",
        'title: "My season"',
        f"activity: {chosen.activity}",
        f"area: {area}",
        f"rubric: {{id: {chosen.rubric.stem}, sha256: {digest}}}",
        f"trainee: {chosen.trainee}",
        "# Who looks at your films too, each on a sheet of their own: list them here and in people.yaml.",
        "mentors: []",
        "films:",
        f'- {{id: F1, date: "{day.isoformat()}", title: {title}, task: {chosen.task},',
        f"   film: {{path: {path}, size: {found.size}, sha256: {found.sha256}}}}}",
    ]


def _chosen(trainee: str, task: str, activity: str, ask: Question) -> _Chosen:
    """At most three questions; what is given is not asked."""
    name = typed(trainee or ask("Whose lesson is it? Your name, or initials", ()) or "").strip()
    if not name:
        raise UsageError("nobody has said whose lesson it is", todo="say --trainee NAME, like --trainee KW")
    newest = _activities()
    known = list(newest)
    if not activity:
        activity = known[0] if len(known) == 1 else ask("Which activity?", [(each, "") for each in known]) or ""
    if activity not in newest:
        what = f"there is no activity {activity}" if activity else "which activity is it?"
        raise UsageError(what, todo=f"say --activity, one of {', '.join(known)}")
    lessons = [(name, each.title) for name, each in _rubric(newest[activity]).tasks.items() if each.lesson]
    task = task or (lessons[0][0] if len(lessons) == 1 else ask("What does the lesson show?", lessons) or "")
    if task not in dict(lessons):
        what = f"{task} is no lesson of {activity}" if task else "what does the lesson show?"
        raise UsageError(what, todo="say --task, one of " + ", ".join(f"{name} ({words})" for name, words in lessons))
    return _Chosen(id_for(name), name[:200], activity, newest[activity], task)


def id_for(name: str) -> str:
    """The short id for a name: an id is itself, a name gives its initials, ME where none is a plain letter."""
    if is_short_id(name):
        return name
    letters = normalize("NFKD", name).encode("ascii", "ignore").decode()
    initials = "".join(word[0] for word in re.findall(r"[A-Za-z0-9][A-Za-z0-9-]*", letters))
    return initials.upper()[:16] or "ME"


def _quoted(text: str) -> str:
    """A text as YAML reads it back."""
    return dumps(text, ensure_ascii=False)


def _activities() -> dict[str, Path]:
    """The activities with a lesson to be marked, each with its newest rubric."""
    from assess.store.shipped import shipped

    found = {folder.name: sorted(folder.glob("r-*.yaml")) for folder in sorted(shipped("rubrics").iterdir())}
    return {name: files[-1] for name, files in found.items() if files and _has_lesson(files[-1])}


def _has_lesson(path: Path) -> bool:
    return any(task.lesson for task in _rubric(path).tasks.values())


def _rubric(path: Path) -> Rubric:
    from assess.desk.checking import read_rubric

    return read_rubric(path)[0]


def film_at(root: Path, film: Path) -> str:
    """Which film of a season stands at this path; the first one where none does."""
    season = season_at(root)
    here = (each.id for each in season.films if (root / each.film.path).resolve() == film.resolve())
    return next(here, season.films[0].id)


def season_at(root: Path) -> Season:
    """What a season's file says. Raises InputError with every problem of it."""
    from assess.records.season import Season
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    file = root / "season.yaml"
    return as_model(read_yaml(file, shown=str(file), what="season"), Season)


def _text(lines: Sequence[str]) -> bytes:
    return ("\n".join(lines) + "\n").encode("utf-8")


def _write(path: Path, content: bytes) -> None:
    from assess.store.atomic import replace_file
    from assess.store.disk import why

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, content)
    except OSError as trouble:
        what = f"cannot be written: {why(trouble)}"
        raise StorageTrouble(
            what, where=str(path), todo="look at the folder, or copy the film to one of yours"
        ) from trouble
