"""A new course, round, rubric, practice lesson or quality file to start from; `check` finds nothing wrong with any."""

from __future__ import annotations

import hashlib
import re
from datetime import date
from pathlib import Path

from assess.desk.scaffold_texts import COURSE, PEOPLE, RUBRIC
from assess.records.errors import Refusal, StorageTrouble, UsageError
from assess.records.ids import is_long_id

__all__ = ["new_course", "new_lesson", "new_quality", "new_round", "new_rubric"]

_RUBRIC_ID, _ACTIVITY = "first-rubric", "my-activity"
_ROUND = ("round", "round-people")


def new_rubric(path: Path) -> tuple[Path, ...]:
    """Write a rubric to start from at `path`; its id is the file's name. The files made.

    Raises Refusal when something stands there, UsageError for a name no rubric can have.
    """
    rubric = _name_of(path, "rubric", "r-1")
    _write(path, _rubric_bytes(rubric))
    return (path,)


def new_lesson(path: Path) -> tuple[Path, ...]:
    """Write a practice lesson to start from at `path`; its id is the file's name. The files made.

    Raises Refusal when something stands there, UsageError for a name no lesson can have.
    """
    from assess.store.shipped import shipped

    lesson = _name_of(path, "lesson", "lesson-1")
    text = (shipped("sample_sessions") / "new" / "lesson.yaml").read_text(encoding="utf-8")
    _write(path, text.replace("new-lesson", lesson.replace(".", "-")[:30]).encode("utf-8"))
    return (path,)


def new_quality(path: Path, today: date) -> tuple[Path, ...]:
    """Write `quality.yaml` to start from, into the folder `path` or at `path`; the first report is due in a year.

    Raises Refusal when something stands there, UsageError for another name, which would never be found.
    """
    from assess.records.quality import months_after
    from assess.store.shipped import shipped

    file = path / "quality.yaml" if path.is_dir() else path
    if file.name != "quality.yaml":
        raise UsageError(f"{path} is no folder", todo="name the folder the courses stand in, or one course folder")
    _must_be_free(file)
    text = (shipped("sample_sessions") / "new" / "quality.yaml").read_text(encoding="utf-8")
    due = f"first_due: {months_after(today, 12).isoformat()}"
    _write(file, text.replace("first_due: 2027-10-01", due).encode("utf-8"))
    return (file,)


def new_course(path: Path, today: date) -> tuple[Path, ...]:
    """Make a course folder at `path` with one day (`today`), two candidates and two assessors. The files made.

    The course's id is made of the folder's name. Raises Refusal when the folder holds something.
    """
    _must_be_free(path)
    rubric = _rubric_bytes(_RUBRIC_ID)
    sha256 = hashlib.sha256(rubric).hexdigest()
    course = COURSE.format(
        course=course_id(path.resolve().name),
        activity=_ACTIVITY,
        rubric=_RUBRIC_ID,
        sha256=sha256,
        day=today.isoformat(),
    )
    files = {
        f"rubrics/{_RUBRIC_ID}@{sha256[:8]}.yaml": rubric,
        "people.yaml": PEOPLE.encode("utf-8"),
        # Last, because a folder is a course once it holds this file.
        "course.yaml": course.encode("utf-8"),
    }
    for name, content in files.items():
        _write(path / name, content)
    return tuple(path / name for name in files)


def new_round(path: Path, today: date) -> tuple[Path, ...]:
    """Make the folder of a calibration round at `path`: twelve lessons, a panel of four, two assessors. The files made.

    The round's id is made of the folder's name. Raises Refusal when the folder holds something.
    """
    from assess.store.shipped import shipped

    _must_be_free(path)
    rubric = _rubric_bytes(_RUBRIC_ID)
    sha256 = hashlib.sha256(rubric).hexdigest()
    texts = {name: (shipped("sample_sessions") / "new" / f"{name}.yaml").read_text("utf-8") for name in _ROUND}
    told = texts["round"].replace('"@rubric"', sha256).replace("2027-01-01", today.isoformat())
    people = texts["round-people"].replace("2027-01-01", today.isoformat())
    files = {
        f"rubrics/{_RUBRIC_ID}@{sha256[:8]}.yaml": rubric,
        "people.yaml": people.encode("utf-8"),
        # Last, because a folder is a round once it holds this file.
        "round.yaml": told.replace("new-round", course_id(path.resolve().name)).encode("utf-8"),
    }
    for name, content in files.items():
        _write(path / name, content)
    return tuple(path / name for name in files)


def course_id(name: str) -> str:
    """An id for a course kept in a folder of this name: what an id may hold of it, `COURSE-1` when that is nothing."""
    kept = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-")[:16].strip("-")
    return kept or "COURSE-1"


def _rubric_bytes(rubric: str) -> bytes:
    return RUBRIC.format(rubric=rubric, activity=_ACTIVITY).encode("utf-8")


def _name_of(path: Path, what: str, example: str) -> str:
    """The id a new file's name gives; nothing may stand there."""
    name = path.name.removesuffix(".yaml")
    if path.suffix != ".yaml" or not is_long_id(name):
        wrong = f"{path.name} is no name of a {what} file"
        raise UsageError(wrong, todo=f"letters, digits, `-` and `.`, at most 40, then .yaml: {example}.yaml")
    _must_be_free(path)
    return name


def _must_be_free(path: Path) -> None:
    if path.is_symlink() or (path.exists() and not (path.is_dir() and not any(path.iterdir()))):
        raise Refusal(f"{path} is there already", todo="name a place where nothing stands yet; nothing was changed")


def _write(path: Path, content: bytes) -> None:
    from assess.store.atomic import create_file
    from assess.store.disk import why

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        create_file(path, content)
    except OSError as trouble:
        raise StorageTrouble(
            f"cannot be written: {why(trouble)}", where=str(path), todo="look at the folder"
        ) from trouble
