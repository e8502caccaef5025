"""Who is sitting here: said with the command, remembered on this device, asked once, or nobody."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from assess.records.errors import InputError, UsageError

if TYPE_CHECKING:
    from assess.records.course import Course

__all__ = ["Ask", "people_to_ask", "settle_who"]

Ask = Callable[[tuple[tuple[str, str], ...]], "str | None"]
"""Shows (id, name) of everybody who works in a course and returns the id typed, or None."""


def settle_who(
    root: Path, given: str | None, *, ask: Ask | None = None, act: bool = False, sits_down: bool = False
) -> str | None:
    """The id of the person at a course: `given`, else the one remembered here, else the one asked for.

    act: the person is about to write, so somebody must be named. sits_down: the person opens the course to
    work in it. In both cases, and after an answer, the choice is remembered on this device for this course;
    a single reading command with `given` changes nothing there.
    None only where there is no act: then what is released to assessors may be shown.
    Raises UsageError for an id nobody of the course has, and when an act has nobody.
    """
    course = _course(root)
    if course is None:
        return given
    known = (*course.assessors, *course.directors)
    if given is not None:
        _must_be_known(given, known)
        if act or sits_down:
            _remember(course, given)
        return given
    chosen = _remembered(course, known) or _asked(root, course, known, ask)
    if chosen is None and act:
        raise UsageError("nobody has said who is writing", todo=f"say who you are with --as {_one_of(known)}")
    return chosen


def people_to_ask(root: Path) -> tuple[tuple[str, str], ...]:
    """Everybody who works in a course, id and name, assessors first; names as far as people.yaml gives them."""
    from assess.records.course import People
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    course = _course(root)
    if course is None:
        return ()
    try:
        people = as_model(read_yaml(root / "people.yaml", what="people"), People)
    except InputError:
        # Whoever is asked still knows their id; the file's problems are told when the course is opened.
        return tuple((who, "") for who in (*course.assessors, *course.directors))
    return tuple((who, people.name(who)) for who in (*course.assessors, *course.directors))


def _course(root: Path) -> Course | None:
    """The course (round, season) file alone; None when it cannot be used, which opening the folder tells too."""
    from assess.records.course import Course
    from assess.records.frame import FRAMES
    from assess.store.course_files import folder_kind
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    try:
        kind = folder_kind(root)
        if kind != "course":
            return as_model(read_yaml(root / f"{kind}.yaml", what=kind), FRAMES[kind]).as_course()
        return as_model(read_yaml(root / "course.yaml", what="course"), Course)
    except InputError:
        return None


def _must_be_known(who: str, known: tuple[str, ...]) -> None:
    if who not in known:
        raise UsageError(f"{who} is nobody of this course", todo=f"use one of {', '.join(known)}")


def _one_of(known: tuple[str, ...]) -> str:
    return " or ".join(known) if known else "ID"


def _remembered(course: Course, known: tuple[str, ...]) -> str | None:
    from assess.store.identity import remembered_person

    who = remembered_person(course.id)
    return who if who in known else None


def _asked(root: Path, course: Course, known: tuple[str, ...], ask: Ask | None) -> str | None:
    answer = ask(people_to_ask(root)) if ask is not None else None
    if answer is None:
        return None
    _must_be_known(answer, known)
    _remember(course, answer)
    return answer


def _remember(course: Course, who: str) -> None:
    from assess.store.identity import remember_person

    remember_person(course.id, who)
