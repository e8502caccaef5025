"""The assessors of one or more courses: what their marks look like beside one another, and who may see whose page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.desk.own_marks import why_not_now
from assess.records.errors import InputError, Problem, Refusal, UsageError

if TYPE_CHECKING:
    from assess.agreement.results.raters import RaterCourse, Raters
    from assess.agreement.sheets import MarkedSheet
    from assess.desk.score_sources import ScoreSource
    from assess.desk.session import Desk
    from assess.desk.who import Ask

__all__ = ["About", "AssessorPages", "assessors_document", "assessors_of", "pages_of"]

Progress = Callable[[float], bool] | None
REPLICATES = 2000


@dataclass(frozen=True)
class About:
    """An assessor in one course. licence: in words. fit: how well the marks fit the many-facet model, a sentence."""

    course: str
    id: str
    name: str
    licence: str
    fit: str


@dataclass(frozen=True)
class AssessorPages:
    """Everything one person may be shown.

    raters: the courses by date; of an assessor's own page nobody else is in it. own: whose page it is when an
    assessor looks, else "". told: for each course what it rests on; then what was not used.
    """

    raters: Raters
    people: tuple[About, ...]
    own: str
    told: tuple[str, ...]

    def about(self, course: str, who: str) -> About:
        """Who an assessor of a course is."""
        return next(one for one in self.people if (one.course, one.id) == (course, who))


def assessors_of(
    paths: Sequence[Path],
    given: str | None,
    *,
    assessor: str | None = None,
    same_assessors: bool = False,
    ask: Ask | None = None,
    replicates: int = REPLICATES,
    progress: Progress = None,
) -> AssessorPages:
    """The pages of these courses for whoever `given` (or this device) says is sitting here.

    assessor: one page alone. same_assessors: an id means the same person in all of them; only then two courses
    running are seen. Raises Refusal for somebody without a name, for an assessor who asks for another's page or asks
    between the slots of a task, and when nothing is locked yet; InputError for what is no course, or a course named
    twice; UsageError for an id nobody has.
    """
    from assess.desk.opening import open_course
    from assess.desk.score_sources import each_once

    if not paths:
        raise UsageError("no course is named", todo="name course folders")
    for path in paths:
        if path.exists() and not path.is_dir():
            what = "is no course folder: a score table has no days, no running order and no roles"
            raise InputError([Problem(str(path), 0, what, "bring it into a course with `assess import`")])
    desks: list[Desk] = []
    try:
        desks += (open_course(path, given, ask=ask) for path in paths)
        each_once([(desk.course.id, desk.folder.root) for desk in desks])
        return pages_of(
            desks, assessor=assessor, same_assessors=same_assessors, replicates=replicates, progress=progress
        )
    finally:
        for desk in desks:
            desk.close(0)


def pages_of(
    desks: Sequence[Desk],
    *,
    assessor: str | None = None,
    same_assessors: bool = False,
    replicates: int = REPLICATES,
    progress: Progress = None,
) -> AssessorPages:
    """The pages of courses that are open already; raises what `assessors_of` raises, Cancelled when stopped."""
    from assess.agreement.rater_history import raters_over
    from assess.agreement.rater_own import only

    own = _may_see(desks, assessor, same_assessors)
    read = []
    for number, desk in enumerate(desks):
        read.append(_read(desk, own, replicates, _part(progress, number, len(desks))))
    pooled, also = _together(read, replicates) if same_assessors and len(read) > 1 else (None, ())
    raters = raters_over([one.found for one in read], same_assessors=same_assessors, together=pooled, warnings=also)
    shown = own or assessor
    people = tuple(one for course in read for one in course.people if shown is None or one.id == shown)
    if shown is not None:
        raters = only(raters, shown, you=bool(own))
        if not raters.courses:
            raise Refusal(f"no sheet of {shown} stands beside another's that is locked", todo="look again later")
    many = len(read) > 1
    told = [f"{course.desk.course.id}: {said}" if many else said for course in read for said in course.told]
    return AssessorPages(raters, people, own, (*dict.fromkeys(told), *also))


def assessors_document(found: AssessorPages) -> dict[str, Any]:
    """The pages as other programs read them; ids, no names."""
    from assess.agreement.rater_json import raters_json

    about = [{"course": one.course, "id": one.id, "licence": one.licence, "fit": one.fit} for one in found.people]
    return {**raters_json(found.raters), "own": found.own or None, "about": about, "told": list(found.told)}


def _may_see(desks: Sequence[Desk], assessor: str | None, same_assessors: bool) -> str:
    """Whose own page it is, or "" for a director. Raises Refusal, and UsageError for an assessor nobody is."""
    roles = {desk.role for desk in desks}
    if "nobody" in roles:
        raise Refusal("nothing about an assessor is shown to nobody", todo="say who you are with --as")
    if len(roles) > 1:
        raise Refusal("you direct some of these courses and assess in others", todo="name them apart")
    if roles == {"director"}:
        if assessor is not None and not any(assessor in desk.course.assessors for desk in desks):
            known = ", ".join(dict.fromkeys(who for desk in desks for who in desk.course.assessors))
            raise UsageError(f"{assessor} is no assessor of these courses", todo=f"use one of {known}")
        return ""
    who = desks[0].who or ""
    if assessor not in (None, who):
        raise Refusal("an assessor sees only their own page", todo=f"leave out --assessor, or name {who}")
    if len(desks) > 1 and not same_assessors:
        todo = "say so with --same-assessors, or name one course"
        raise UsageError(f"{who} need not be the same person in all these courses", todo=todo)
    for desk in desks:
        why = why_not_now(desk)
        if why:
            raise Refusal(why)
    return who


@dataclass(frozen=True)
class _Read:
    desk: Desk
    sheets: tuple[MarkedSheet, ...]
    found: RaterCourse
    people: tuple[About, ...]
    told: tuple[str, ...]


def _part(progress: Progress, number: int, of: int) -> Callable[[float], bool]:
    """The progress of one course among several."""
    return lambda done: progress is None or progress((number + done) / of)


def _read(desk: Desk, own: str, replicates: int, progress: Callable[[float], bool]) -> _Read:
    from assess.agreement.rater_effects import rater_effects
    from assess.desk.locked_turns import rests_on
    from assess.desk.rater_sheets import rater_sheets

    progress(0.0)
    sheets, source = rater_sheets(desk)
    first = desk.course.day_date(1)
    found = rater_effects(
        sheets, source.levels or (), course=desk.course.id, date=first.isoformat() if first else "",
        replicates=replicates, progress=_part(progress, 0, 2),
    )  # fmt: skip
    found = replace(found, warnings=source.warnings)
    fits = _fits(source, own, _part(progress, 1, 2))
    people = tuple(
        About(desk.course.id, who, desk.name(who), _licence(desk, who), fits.get(who, fits[""]))
        for who in desk.course.assessors
    )
    return _Read(desk, sheets, found, people, (rests_on(source), *source.warnings))


def _fits(source: ScoreSource, own: str, progress: Callable[[float], bool]) -> dict[str, str]:
    """How the marks of each assessor fit the many-facet model, by id; "": what is said where there is no answer."""
    from assess.agreement.rater_fit import fit_sentence
    from assess.desk.severity import severity_from

    found = severity_from(source, progress=progress)
    why = found.undefined or "there is no estimate"
    told = {
        "": f"How the marks fit the model of the whole course cannot be said: {why[0].lower()}{why[1:].rstrip('.')}."
    }
    return told | {measure.id: fit_sentence(measure, you=measure.id == own) for measure in found.assessors}


def _licence(desk: Desk, who: str) -> str:
    """`licence until 2027-03-31`, the first to end of the course's areas; or what it lacks today."""
    from assess.records.separation import licence_bar, licence_in_force

    course, people, today = desk.course, desk.people, date.fromisoformat(desk.today())
    if not any(item.assessor == who for item in people.licences):
        return "no licence on record"
    until = []
    for area in dict.fromkeys(task.area for task in course.tasks):
        bar = licence_bar(course, people, who, "", area, today)
        held = licence_in_force(people.licences, who, course.activity, area, today)
        if bar is not None or held is None:
            return f"{area}: {bar.why if bar is not None else 'no licence on record'}"
        until.append(held.valid_to)
    return f"licence until {min(until)}" if until else "no licence on record"


def _together(read: Sequence[_Read], replicates: int) -> tuple[RaterCourse | None, tuple[str, ...]]:
    """All courses as one, candidates and tasks kept apart; None, with the reason, where their scales differ."""
    from assess.agreement.rater_effects import rater_effects

    if len({one.found.levels for one in read}) > 1:
        return None, ("the courses have different scales: they are not taken together",)
    sheets = [
        replace(sheet, candidate=f"{one.desk.course.id}:{sheet.candidate}", task=f"{one.desk.course.id}:{sheet.task}")
        for one in read
        for sheet in one.sheets
    ]
    name = f"{len(read)} courses together"
    return rater_effects(sheets, read[0].found.levels, course=name, replicates=replicates), ()
