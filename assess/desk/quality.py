"""The quality report: what a body has to look at, at planned intervals, over the courses it names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.quality_courses import LookedAt, looked_at
from assess.desk.who import Ask
from assess.records.errors import Refusal, UsageError

if TYPE_CHECKING:
    from assess.agreement.results.again import Again
    from assess.desk.assessors import AssessorPages
    from assess.desk.quality_groups import GroupTable
    from assess.desk.quality_pass_lines import PassLineSeen
    from assess.desk.quality_reliability import ModuleReliability, PooledError
    from assess.desk.quality_separation import SeparationSeen
    from assess.records.quality import Overdue, QualityReview

__all__ = ["CourseSeen", "ModuleAgain", "QualityReport", "day_from", "quality_report"]


@dataclass(frozen=True)
class CourseSeen:
    """A course that was looked at; turns: used (everybody has locked) of all there are."""

    id: str
    title: str
    first_day: str
    candidates: int
    assessors: int
    turns_used: int
    turns: int


@dataclass(frozen=True)
class ModuleAgain:
    """Whether outcomes of a module would be given again; left_out: candidates the numbers did not decide, and why."""

    again: Again
    left_out: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class QualityReport:
    """Everything, part by part. on: the day it is for. files: the quality files; empty without one.

    due: the earliest day a report is due; last: the latest that was done. overdue: what is late on that day.
    assessors: None, with `no_assessors`, where nothing can be told. groups: None unless a groups file was named.
    findings: what has to be done now, in sentences. pooled: the error of a sheet value over all modules of a scale.
    """

    on: date
    courses: tuple[CourseSeen, ...]
    files: tuple[str, ...]
    due: date | None
    last: QualityReview | None
    overdue: tuple[Overdue, ...]
    findings: tuple[str, ...]
    reliability: tuple[ModuleReliability, ...]
    pooled: tuple[PooledError, ...]
    again: tuple[ModuleAgain, ...]
    assessors: AssessorPages | None
    no_assessors: str
    pass_lines: tuple[PassLineSeen, ...]
    groups: GroupTable | None
    separation: SeparationSeen
    replicates: int
    seed: int


def day_from(text: str) -> date:
    """The day in words like `2027-02-03`. Raises UsageError when it is none."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"`{text}` is no day", todo="write it like 2027-02-03") from None


def quality_report(
    paths: Sequence[Path],
    given: str | None = None,
    *,
    groups: Path | None = None,
    on: date | None = None,
    same_assessors: bool = False,
    replicates: int = 1000,
    seed: int = 0,
    ask: Ask | None = None,
) -> QualityReport:
    """The report for a director of all courses named. on: the day it is for; today at the first course unless given.

    Raises what `looked_at` raises, and InputError for a groups file that cannot be used.
    """
    from assess.desk.quality_pass_lines import pass_lines_of
    from assess.desk.quality_separation import separation_of

    with looked_at(paths, given, ask=ask) as courses:
        day = on or date.fromisoformat(courses.desks[0].today())
        overdue = tuple(sorted(item for place in courses.places for item in place.quality.overdue(day)))
        lines = pass_lines_of(courses)
        separation = separation_of(courses)
        reliability, pooled, again = _by_module(courses, same_assessors, replicates, seed)
        reviews = [place.quality.last for place in courses.places if place.quality.last is not None]
        return QualityReport(
            day,
            tuple(_course(courses, number) for number in range(len(courses.desks))),
            tuple(place.doc.shown for place in courses.places),
            min((place.quality.due for place in courses.places), default=None),
            max(reviews, key=lambda review: review.on, default=None),
            overdue,
            tuple(_findings(courses, overdue, lines, separation)),
            reliability, pooled, again, *_assessors(courses, same_assessors), lines, _groups(courses, groups),
            separation, replicates, seed,
        )  # fmt: skip


def _course(courses: LookedAt, number: int) -> CourseSeen:
    from assess.desk.locked_turns import locked_turns

    desk = courses.desks[number]
    course = desk.course
    used = sum(1 for _ in locked_turns(desk))
    return CourseSeen(
        course.id, course.title, course.days[0], len(course.candidates), len(course.assessors), used,
        len(course.allocation),
    )  # fmt: skip


def _by_module(
    courses: LookedAt, same_assessors: bool, replicates: int, seed: int
) -> tuple[tuple[ModuleReliability, ...], tuple[PooledError, ...], tuple[ModuleAgain, ...]]:
    from assess.agreement.again import same_again
    from assess.desk.quality_marks import quality_modules
    from assess.desk.quality_reliability import pooled_errors, reliability_of

    modules = quality_modules(courses)
    return (
        tuple(reliability_of(module, same_assessors=same_assessors) for module in modules),
        pooled_errors(modules),
        tuple(
            ModuleAgain(
                same_again(module.name, module.judged, replicates=replicates, seed=seed),
                tuple(sorted(module.left_out.items())),
            )
            for module in modules
        ),
    )


def _assessors(courses: LookedAt, same_assessors: bool) -> tuple[AssessorPages | None, str]:
    """The monitoring of assessors, or why there is none."""
    from assess.desk.assessors import pages_of
    from assess.desk.locked_turns import locked_turns

    desks = [desk for desk in courses.desks if next(locked_turns(desk), None) is not None]
    if not desks:
        return None, "not estimable (n=0): no turn has all its sheets locked yet"
    try:
        return pages_of(desks, same_assessors=same_assessors), ""
    except Refusal as refusal:
        return None, f"not estimable: {refusal.what}"


def _groups(courses: LookedAt, file: Path | None) -> GroupTable | None:
    from assess.desk.quality_groups import group_table

    return None if file is None else group_table(courses, file)


def _findings(
    courses: LookedAt, overdue: Sequence[Overdue], lines: Sequence[PassLineSeen], separation: SeparationSeen
) -> Iterator[str]:
    if not courses.places:
        yield "no quality.yaml covers these courses, so nothing says when a report is due: see `assess new quality`"
    yield from map(str, overdue)
    for line in lines:
        if line.state == "missing":
            where = ", ".join(line.courses)
            yield f"it is not written down how the pass line of {line.rubric} was set (in force in {where})"
        elif line.state == "another line":
            yield f"the record of the pass line of {line.rubric} is of another line than the one in force"
    yield from (f"open threat to impartiality: {threat.kind}, {threat.text}" for threat in separation.open_threats)
    yield from (f"allocated although the sheet will count for nothing: {said}" for said in separation.standing)
