"""Where scores for statistics come from: one score table, or the folders of one or more courses.

Courses are pooled so that nobody becomes somebody else: a candidate id means a person within its course only, so
with more than one course it carries the course's id (`K-2026-01:C04`). The same is done with assessors, unless
whoever asks says that their ids are of one register and mean the same person everywhere.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assess.records.errors import InputError, Problem, Refusal, UsageError

if TYPE_CHECKING:
    from assess.desk.score_columns import ScoreColumns
    from assess.desk.sheet_scores import CourseScores, RubricShelf
    from assess.records.rubric import Rubric

__all__ = ["ScoreSource", "each_once", "joined_courses", "read_source"]

FEW_COURSES = 10
"""So many courses are opened with their allocation; of more the sheets alone are read, which is quicker."""
QUICK = (
    "so many courses are read by their sheets alone: a marker who was allocated and has begun nothing is not waited"
    " for, so leave out courses that are still being marked"
)


@dataclass(frozen=True)
class ScoreSource:
    """Scores as columns of equal length, one row for each; a missing score is NaN.

    task, criterion: None when nobody told them. levels, line: from the rubric, None with a table.
    n_courses, n_sheets: 0 with a table. warnings: what was not used and how things were put together.
    """

    candidate: list[str]
    assessor: list[str]
    score: array[float]
    task: list[str] | None
    criterion: list[str] | None
    levels: tuple[float, ...] | None
    line: float | None
    warnings: tuple[str, ...]
    n_courses: int = 0
    n_sheets: int = 0
    table: str = ""
    lines: array[int] | None = None

    def problem(self, row: int | None, what: str) -> InputError:
        """What is wrong with a row (or with all of them), told with the line of the table it stands on."""
        line = self.lines[row] if row is not None and self.lines is not None else 0
        return InputError([Problem(self.table, line, what, "put it right" if line else "")])


def read_source(paths: Sequence[Path], *, same_assessors: bool = False) -> ScoreSource:
    """The scores of one table or of course folders.

    same_assessors: an assessor's id means the same person in all these courses.
    Raises InputError for what cannot be read (with every line of a table that is no row of it) and for the same
    course twice; UsageError for tables and courses together; Refusal when nothing may be used yet, or when the
    courses have different scales.
    """
    if not paths:
        raise UsageError("no source is named", todo="name course folders or one score table")
    folders = [path for path in paths if path.is_dir()]
    if not folders:
        if len(paths) > 1:
            raise UsageError("only one score table is read at a time", todo="put the rows into one table")
        return _table(paths[0])
    if len(folders) < len(paths):
        other = next(path for path in paths if not path.is_dir())
        if not other.exists():
            raise InputError([Problem(str(other), 0, "is not there", "look at the path")])
        raise UsageError("a score table and course folders are not read together", todo="name one kind of source")
    return _courses(folders, same_assessors=same_assessors)


def _table(path: Path) -> ScoreSource:
    from assess.desk.score_columns import read_columns

    columns = read_columns(path)
    _no_scores(columns)
    warnings = tuple(f"{columns.shown}:1: the column `{name[:40]}` is not read" for name in columns.unknown)
    return ScoreSource(
        columns.candidate, columns.assessor, columns.score, columns.task, columns.criterion,
        None, None, warnings, table=columns.shown, lines=columns.lines,
    )  # fmt: skip


def _no_scores(columns: ScoreColumns) -> None:
    if all(score != score for score in columns.score):
        raise InputError([Problem(columns.shown, 0, "no row of this table has a score", "fill in the scores")])


def _courses(roots: Sequence[Path], *, same_assessors: bool) -> ScoreSource:
    from assess.desk.sheet_scores import RubricShelf, course_scores

    shelf = RubricShelf()
    _no_seasons(roots)
    few = len(roots) <= FEW_COURSES
    # A calibration round is blind until all of it is locked, which only its allocation tells.
    told = [
        _allocated(root, shelf) if few or (root / "round.yaml").is_file() else (course_scores(root, shelf), ())
        for root in roots
    ]
    courses = [course for course, _ in told]
    also = [
        sentence if len(roots) == 1 else f"{course.course}: {sentence}" for course, said in told for sentence in said
    ]
    if len(roots) > FEW_COURSES:
        also.append(QUICK)
    each_once([(course.course, course.root) for course in courses])
    if not any(course.sheets for course in courses):
        raise Refusal(
            "there is nothing to compare: no turn of a candidate has two sheets or more with all of them locked",
            where=", ".join(str(root) for root in roots[:3]) + (" and others" if len(roots) > 3 else ""),
            todo="ask again when everybody has locked",
        )
    return joined_courses(courses, same_assessors=same_assessors, also=also)


def _no_seasons(roots: Sequence[Path]) -> None:
    """A trainee's scores of their own lesson are compared for training alone."""
    from assess.records.season import NO_RESULT

    own = [root for root in roots if (root / "season.yaml").is_file() and not (root / "course.yaml").exists()]
    if own:
        raise Refusal(NO_RESULT, where=str(own[0]), todo=f"see `assess film {own[0]}`, or leave it out")


def _allocated(root: Path, shelf: RubricShelf) -> tuple[CourseScores, tuple[str, ...]]:
    """The scores of turns whose every allocated marker has locked; of a folder without course.yaml, of its sheets."""
    from assess.desk.locked_turns import locked_scores
    from assess.desk.opening import open_course
    from assess.desk.sheet_scores import course_scores

    if not any((root / name).is_file() for name in ("course.yaml", "round.yaml")):
        return course_scores(root, shelf), ()
    desk = open_course(root, None)
    try:
        return locked_scores(desk)
    finally:
        desk.close(0)


def joined_courses(
    courses: Sequence[CourseScores], *, same_assessors: bool = False, also: Sequence[str] = ()
) -> ScoreSource:
    """The scores of courses read already, at least one sheet among them; also: what else is told, before the rest.

    Raises Refusal when the courses have different scales, or when their sheets hold no level.
    """
    rubrics = {reference: rubric for course in courses for reference, rubric in course.rubrics.items()}
    levels, line, warnings = _scale(courses, rubrics)
    many = len(courses) > 1
    told = [*also, *_told(courses, many, same_assessors), *warnings]
    return _joined(courses, levels, line, told, many, many and not same_assessors)


def each_once(courses: Sequence[tuple[str, Path]]) -> None:
    """Raise InputError when two of these courses (id, folder) are the same; one without an id is like no other."""
    first: dict[str, Path] = {}
    for course, root in courses:
        known = first.get(course)
        if known is not None:
            what = f"is course {course}, and so is {known}"
            raise InputError(
                [Problem(str(root), 0, what, "name it once; bring two copies together with `assess merge`")]
            )
        if course:
            first[course] = root


def _scale(
    courses: Sequence[CourseScores], rubrics: dict[str, Rubric]
) -> tuple[tuple[float, ...], float | None, list[str]]:
    """The one scale of all rubrics, their pass line if they have one. Raises Refusal for different scales."""
    scales = {(rubric.scale.min, rubric.scale.max): rubric.id for rubric in rubrics.values()}
    if len(scales) > 1:
        told = ", ".join(f"{low} to {high} ({rubric})" for (low, high), rubric in sorted(scales.items()))
        raise Refusal(
            f"these scores are on different scales and cannot be compared: {told}",
            todo="name courses marked on one scale, or export and compare them one by one",
        )
    ((low, high),) = scales
    warnings = []
    if len(rubrics) > 1:
        ids = ", ".join(sorted({rubric.id for rubric in rubrics.values()}))
        warnings.append(
            f"scores given by {len(rubrics)} versions of the rubric ({ids}) are taken together: "
            "the scale is the same, what a level looks like may not be"
        )
    lines = sorted({rubric.scale.pass_line for rubric in rubrics.values()})
    if len(lines) > 1:
        told = ", ".join(f"{float(line):g}" for line in lines)
        warnings.append(f"the rubrics have different pass lines ({told}): none is used; name one with --line")
    levels = {float(level) for level in range(low, high + 1)}
    halves = {float(value) for course in courses for sheet in course.sheets for value in sheet.values.values()} - levels
    if halves:
        levels |= {level + 0.5 for level in range(low, high)}
        warnings.append("runs joined by their median gave half levels: the scale is counted in halves")
    return tuple(sorted(levels)), float(lines[0]) if len(lines) == 1 else None, warnings


def _told(courses: Sequence[CourseScores], many: bool, same_assessors: bool) -> list[str]:
    """What was left out and how people of several courses were told apart."""
    warnings = []
    not_used, unknown, aside = (
        sum(getattr(course, name) for course in courses) for name in ("not_used", "unknown", "aside")
    )
    if not_used:
        warnings.append(
            f"{_count(not_used, 'locked sheet')} not used: another sheet of the same turn is missing, not locked or "
            "cannot be read"
        )
    if unknown:
        warnings.append(f"{_count(unknown, 'locked sheet')} not used: the rubric is not there or has no such task")
    if aside:
        warnings.append(
            f"{_count(aside, 'other version')} kept aside beside the sheets used, not read; `assess check` names them"
        )
    if many and same_assessors:
        warnings.append("an assessor id is taken to mean the same person in every course, as was asked for")
    elif many:
        warnings.append(
            "ids carry the id of their course: A1 of one course is not taken to be A1 of another; "
            "if assessor ids mean the same people everywhere, say so with --same-assessors"
        )
    return warnings


def _count(n: int, what: str) -> str:
    return f"{n} {what} is" if n == 1 else f"{n} {what}s are"


def _joined(
    courses: Sequence[CourseScores],
    levels: tuple[float, ...],
    line: float | None,
    warnings: list[str],
    candidates_apart: bool,
    assessors_apart: bool,
) -> ScoreSource:
    candidate: list[str] = []
    assessor: list[str] = []
    score = array("d")
    task: list[str] = []
    criterion: list[str] = []
    for course in courses:
        before = f"{course.course}:"
        for sheet in course.sheets:
            n = len(sheet.values)
            candidate += [before + sheet.candidate if candidates_apart else sheet.candidate] * n
            assessor += [before + sheet.assessor if assessors_apart else sheet.assessor] * n
            task += [sheet.task] * n
            criterion += sheet.values
            score.extend(map(float, sheet.values.values()))
    if not score:
        raise Refusal("the locked sheets hold no level: nothing was observed by two", todo="nothing can be compared")
    return ScoreSource(
        candidate, assessor, score, task, criterion, levels, line, tuple(warnings),
        n_courses=sum(bool(course.sheets) for course in courses),
        n_sheets=sum(len(course.sheets) for course in courses),
    )  # fmt: skip
