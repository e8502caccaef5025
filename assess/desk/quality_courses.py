"""The courses a quality report looks at together: opened for their directors, and nobody else."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.who import Ask
from assess.records.errors import InputError, Problem, Refusal, UsageError

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.store.quality_files import QualityPlace

__all__ = ["LookedAt", "looked_at"]


@dataclass(frozen=True)
class LookedAt:
    """Open courses in the order of their first days, and the quality files that cover them."""

    desks: tuple[Desk, ...]
    places: tuple[QualityPlace, ...]

    @property
    def many(self) -> bool:
        """True when ids have to carry their course's id."""
        return len(self.desks) > 1

    def key(self, desk: Desk, who: str) -> str:
        """A person of a course so that nobody becomes somebody else of another."""
        return f"{desk.course.id}:{who}" if self.many else who


@contextmanager
def looked_at(paths: Sequence[Path], given: str | None, *, ask: Ask | None = None) -> Iterator[LookedAt]:
    """The courses named, or those that the quality file of a named folder covers; closed at the end.

    Raises InputError for what is neither, or twice the same course; Refusal unless whoever asks directs all of them.
    """
    from assess.desk.opening import open_course

    if not paths:
        raise UsageError("no course is named", todo="name course folders, or the folder of a quality.yaml")
    courses, places = _courses(paths)
    desks: list[Desk] = []
    try:
        for course in courses:
            desks.append(open_course(course, given, ask=ask))
            if desks[-1].role != "director":
                raise Refusal(
                    "the quality report is for a director", where=str(course), todo="say who you are with --as D1"
                )
        _each_once(desks)
        yield LookedAt(tuple(sorted(desks, key=lambda desk: (desk.course.days[0], desk.course.id))), places)
    finally:
        for desk in desks:
            desk.close(0)


def _courses(paths: Sequence[Path]) -> tuple[list[Path], tuple[QualityPlace, ...]]:
    from assess.store.quality_files import QUALITY, need_sound, quality_of, quality_problems, read_quality

    courses: dict[Path, Path] = {}
    places: dict[Path, QualityPlace] = {}
    found: tuple[Path, ...]
    for path in paths:
        if (path / "course.yaml").is_file():
            found, place = (path,), quality_of(path)
        elif (path / QUALITY).is_file():
            place = read_quality(path / QUALITY)
            found = place.courses
        else:
            raise InputError([_neither(path)])
        if place is not None:
            need_sound(quality_problems(place))
            places.setdefault(place.doc.path.resolve(), place)
        if not found:
            what = "covers no course: no folder beside it is one"
            raise InputError([Problem(str(path / QUALITY), 0, what, "name the courses, or put them beside it")])
        for course in found:
            courses.setdefault(course.resolve(), course)
    return list(courses.values()), tuple(places.values())


def _neither(path: Path) -> Problem:
    if (path / "round.yaml").is_file():
        what, todo = "is a calibration round, in which nobody is decided on", "name course folders"
    elif path.exists():
        what, todo = "is no course folder and holds no quality.yaml", "make one with `assess new quality`"
    else:
        what, todo = "is not there", "look at the path"
    return Problem(str(path), 0, what, todo)


def _each_once(desks: Sequence[Desk]) -> None:
    first: dict[str, Path] = {}
    for desk in desks:
        root = desk.folder.root
        known = first.setdefault(desk.course.id, root)
        if known is not root:
            what = f"is course {desk.course.id}, and so is {known}"
            todo = "name it once; bring two copies together with `assess merge`"
            raise InputError([Problem(str(root), 0, what, todo)])
