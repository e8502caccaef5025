"""What a path is, told by what stands there, and a course opened from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from assess.desk.tellable import without_sheets
from assess.desk.who import Ask, settle_who
from assess.records.errors import InputError, Problem
from assess.records.ids import is_short_id

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.desk.session import Desk
    from assess.store.clock import Clock

__all__ = ["READER", "Kind", "Place", "need_rubrics", "open_course", "place_of", "sheet_place"]

Kind = Literal[
    "course", "course-file", "people-file", "keys-file", "round-file", "reference-file", "season-file", "rubric",
    "ledger", "catalogue", "lesson", "quality", "groups", "unknown",
]  # fmt: skip

READER = "reading"
"""The device of somebody who only reads: no device id is made for looking."""

_FIRST_LINES: tuple[tuple[bytes, Kind], ...] = (
    (b"# assess course ", "course-file"),
    (b"# assess people ", "people-file"),
    (b"# assess rubric ", "rubric"),
    (b"# assess ledger ", "ledger"),
    (b"# assess catalogue ", "catalogue"),
    (b"# assess lesson ", "lesson"),
    (b"# assess quality ", "quality"),
    (b"# assess groups ", "groups"),
    (b"# assess round ", "round-file"),
    (b"# assess reference ", "reference-file"),
    (b"# assess season ", "season-file"),
    (b"# assess keys ", "keys-file"),
)
_RECORD_FOLDERS = frozenset({"sheets", "days", "moderation", "decisions", "cases", "licences", "seals", "rubrics"})


@dataclass(frozen=True)
class Place:
    """A path and what it is.

    course: the course folder it is or lies in, None when it lies in none.
    task, candidate, assessor, device: of a sheet, as its name gives them; "" for what the name leaves out.
    """

    kind: Kind
    path: Path
    course: Path | None = None
    task: str = ""
    candidate: str = ""
    assessor: str = ""
    device: str = ""

    @property
    def is_sheet(self) -> bool:
        """True for a sheet: written already or not."""
        return bool(self.task)


def place_of(path: Path) -> Place:
    """What a path is. A sheet need not exist yet: `COURSE/T1.C04` names one.

    Raises InputError when nothing is there, or it is nothing this program reads.
    """
    if path.is_dir():
        if _is_course(path):
            return Place("course", path, path)
        if (path / "faults.yaml").is_file():
            return Place("catalogue", path)
        what = "is a folder without course.yaml, round.yaml or season.yaml (and no catalogue either)"
        raise InputError([Problem(str(path), 0, what, "name a course folder")])
    course = _course_around(path)
    parts = _sheet_parts(path) if course is not None else None
    # By its name alone: whether another's sheet is there, and what it looks like, is not for everybody.
    if parts is not None and (path.parent.name == "sheets" or not path.exists()):
        return Place("ledger", path, course, *parts)
    if not path.exists():
        where = "" if course is not None else ", and lies in no course folder"
        todo = "look at the path; a sheet is named like COURSE/T1.C04"
        raise InputError([Problem(str(path), 0, f"is not there{where}", todo)])
    kind = _kind(path)
    if kind == "unknown":
        what = "is none of the files of this program: its first line says nothing of the kind"
        raise InputError([Problem(str(path), 1, what, "see `assess schema` for the files there are")])
    return Place(kind, path, course)


def sheet_place(path: Path) -> Place:
    """The sheet a path names: its ledger, `COURSE/T1.C04` or `COURSE/sheets/T1.C04.A2`.

    Raises InputError when it is no sheet of a course.
    """
    place = place_of(path)
    if place.is_sheet and place.course is not None:
        return place
    what = "is no sheet" if not place.is_sheet else "lies in no course folder"
    raise InputError([Problem(str(path), 0, what, "name a sheet like COURSE/T1.C04: task, then candidate")])


def open_course(
    root: Path,
    given: str | None,
    *,
    act: bool = False,
    sits_down: bool = False,
    ask: Ask | None = None,
    clock: Clock | None = None,
    salt: Callable[[], str] | None = None,
    device: str | None = None,
) -> Desk:
    """The course at `root`, opened by whoever `settle_who` finds.

    act: the person is about to write, so somebody must be named; sits_down: they may write. In both cases
    entries carry this device's id; else nothing is made for looking, not even that.
    Raises InputError with every problem that makes the course unusable, UsageError for an unknown person.
    """
    from assess.desk.session import Desk

    who = settle_who(root, given, ask=ask, act=act, sits_down=sits_down)
    device = device or (None if act or sits_down else READER)
    try:
        return Desk.open(root, who, clock=clock, salt=salt, device=device)
    except InputError as error:
        raise _under_root(root, without_sheets(error)) from error


def need_rubrics(desk: CourseView) -> None:
    """Raise InputError with everything wrong outside the sheets when a task has no rubric that can be used."""
    for task in desk.course.tasks:
        pin = desk.course.pin(task.id)
        rubric = desk.folder.rubrics.get(pin.reference) if pin else None
        if rubric is None or task.id not in rubric.tasks:
            wrong = [problem for problem in desk.folder.problems if not problem.doubt]
            shown = desk.folder.course_doc.shown
            missing = Problem(shown, 1, f"no rubric is in force for {task.id}", "pin one that has this task")
            raise _under_root(desk.folder.root, without_sheets(InputError(wrong or [missing])))


def _under_root(root: Path, error: InputError) -> InputError:
    """The error with its files as the user named the course."""
    return InputError([replace(problem, file=str(root / problem.file)) for problem in error.problems])


def _is_course(folder: Path) -> bool:
    files = (folder / "course.yaml", folder / "round.yaml", folder / "season.yaml")
    return any(file.exists() or file.is_symlink() for file in files)


def _course_around(path: Path) -> Path | None:
    """The course folder a file lies in: its own folder, or the one around `sheets`, `rubrics` and so on."""
    folder = path.parent
    if _is_course(folder):
        return folder
    return folder.parent if folder.name in _RECORD_FOLDERS and _is_course(folder.parent) else None


def _kind(path: Path) -> Kind:
    from assess.store.reading import why_not_plain

    trouble = why_not_plain(path)
    if trouble is not None:
        raise InputError([Problem(str(path), 0, trouble, "name a plain file")])
    with path.open("rb") as file:
        first = file.read(64)
    return next((kind for start, kind in _FIRST_LINES if first.startswith(start)), "unknown")


def _sheet_parts(path: Path) -> tuple[str, str, str, str] | None:
    """Task, candidate, assessor and device of a sheet's name; None when it is no name of a sheet."""
    stem = path.name.removesuffix(".yaml").split("~", 1)[0]
    parts = stem.split(".")
    if not 2 <= len(parts) <= 4 or not all(is_short_id(part) for part in parts):
        return None
    task, candidate, assessor, device = (*parts, "", "")[:4]
    return task, candidate, assessor, device
