"""The readings of a lesson sheet, to stand beside its criteria: evidence, never a score."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assess.records.errors import InputError, Refusal

if TYPE_CHECKING:
    from pathlib import Path

    from assess.desk.lesson_case import LessonCase
    from assess.desk.lessons import LessonsRead
    from assess.desk.opening import Place
    from assess.desk.session import Desk
    from assess.lesson.results import ChangeReading, LessonReadings
    from assess.marking.results import Sheet
    from assess.records.catalogue import Catalogue

__all__ = ["NOT_A_PANEL", "SheetReadings", "course_catalogue", "read_sheet", "sheet_readings"]

NOT_A_PANEL = "compared with your own view of the learner, which is one view and no panel"
NO_VIEW = "not compared: your own view of the learner is not noted"
WAITING = "not judged yet"


@dataclass(frozen=True)
class SheetReadings:
    """The readings of one sheet; told: what was filled in, counted otherwise or left out."""

    readings: LessonReadings
    told: tuple[str, ...]


def course_catalogue(desk: Desk) -> Catalogue | None:
    """The catalogue of the course's activity: the house's own overlay in the course folder laid over the shipped one.

    None when the activity ships without one. Raises InputError when it cannot be used.
    """
    from assess.store.catalogue_folder import load_catalogue
    from assess.store.shipped import shipped

    root = shipped("rubrics") / desk.course.activity / "catalogue"
    if not root.is_dir():
        return None
    overlay = desk.folder.root / "overlay.yaml"
    return load_catalogue(root, overlay if overlay.is_file() else None).catalogue


def read_sheet(desk: Desk, place: Place) -> LessonsRead:
    """The readings of the lesson sheet a path names: one's own, or another's once the slot is open.

    Raises Refusal for a sheet that may not be read, is no lesson, or is of an activity without a catalogue.
    """
    from assess.desk.lessons import LessonsRead

    task, candidate, assessor = place.task, place.candidate, place.assessor or desk.who or ""
    if not desk.sight.sheet(task, candidate, assessor):
        whose = f"the sheet {task} {candidate} of {assessor or 'nobody'}"
        raise Refusal(f"{whose} is not yours to read", todo="say who you are with --as ID")
    if not desk.task(task).lesson:
        raise Refusal(f"{task} is no teaching session", todo="name the sheet of a lesson")
    catalogue = course_catalogue(desk)
    if catalogue is None:
        raise Refusal(f"{desk.course.activity} has no catalogue", todo="readings need one")
    slot = desk.course.slot(task, candidate)
    sheet = desk.folded(task, candidate, assessor)
    read = sheet_readings(desk, sheet, catalogue, learners=slot.learners if slot else ())
    title = f"{desk.task(task).title}, {assessor}"
    return LessonsRead((read.readings,), catalogue.settings, {read.readings.lesson: title}, read.told)


def sheet_readings(
    desk: Desk, sheet: Sheet, catalogue: Catalogue, *, learners: tuple[str, ...] = (), now_ms: int | None = None
) -> SheetReadings:
    """The readings of a lesson sheet as it stands. now_ms: session time of a lesson that still runs."""
    from assess.desk.lesson_case import lesson_case
    from assess.lesson.consistency import contradictions
    from assess.lesson.diagnosis import read_diagnosis
    from assess.lesson.drill_fit import read_drill_fit
    from assess.lesson.group import read_attention
    from assess.lesson.progression import read_progression
    from assess.lesson.results import LessonReadings
    from assess.lesson.safety import read_safety

    planned = desk.task(sheet.task).minutes
    case = lesson_case(sheet, learners, desk.course.task(sheet.task), catalogue, now_ms, planned)
    lesson, ability = case.lesson, float(case.ability or 1)
    diagnosis = read_diagnosis(lesson.named, case.reference, catalogue)
    if not case.reference.roots:
        diagnosis = replace(diagnosis, void=NO_VIEW, why=(NO_VIEW,))
    else:
        diagnosis = replace(diagnosis, why=(*diagnosis.why, NOT_A_PANEL))
    fit = read_drill_fit(lesson, case.reference if case.reference.roots else case.named_view, ability, catalogue)
    if not case.reference.roots and fit.void is None:
        fit = replace(fit, value=None, void=NO_VIEW)
    if fit.own_value is not None and (waits := _waits(case, "drills")):
        fit = replace(fit, void=waits[0], value=None, own_value=None, drills=(), why=waits)
    progression = read_progression(lesson, ability, catalogue)
    if progression.void is None and (waits := _waits(case, "build-up")):
        progression = replace(progression, void=waits[0], value=None, parts=None, steps=(), why=waits)
    safety = read_safety(lesson, case.hazards, catalogue.settings)
    if waits := _waits(case, "safety"):
        safety = replace(safety, void=waits[0], value=None, why=(*waits, *safety.why[1:]))
    change, doubts = _change(desk, sheet, case, catalogue)
    readings = LessonReadings(
        lesson=lesson.id, diagnosis=diagnosis, other_learners=(),
        group=read_attention(lesson, len(learners), catalogue),
        drill_fit=fit, progression=progression, safety=safety, change=change,
        inconsistent=contradictions(lesson, catalogue), unknown=(),
    )  # fmt: skip
    return SheetReadings(readings, (*case.told, *doubts))


def _waits(case: LessonCase, reading: str) -> tuple[str, ...]:
    """Why a reading has to wait, then each thing to note for it; nothing when it need not."""
    lacking = tuple(dict.fromkeys(case.lacking.get(reading, ())))
    return (f"{WAITING}, {len(lacking)} to note", *(f"note: {what}" for what in lacking)) if lacking else ()


def _change(desk: Desk, sheet: Sheet, case: LessonCase, catalogue: Catalogue) -> tuple[ChangeReading, tuple[str, ...]]:
    """The change of the learner: from the tables in `measures/` when they are there, else from the values typed."""
    from assess.desk.lessons import change_between
    from assess.lesson.change import read_change, unread_change

    before, after = (_table(desk.folder.root, sheet, when) for when in ("before", "after"))
    outcome, ended = case.lesson.outcome, case.lesson.ended_for_safety
    if before.is_file() and after.is_file():
        try:
            return change_between(before, after, catalogue.settings), ()
        except InputError as trouble:
            named = tuple(str(problem) for problem in trouble.problems)
            return unread_change("", outcome), named
    ids = [seen.fact.measure for seen in sheet.measured if seen.fact.measure]
    measure = catalogue.measure_by_id.get(ids[0]) if ids else None
    if measure is None or case.ability is None:
        lacking = ("not compared: note how able the learner is",) if measure and case.ability is None else ()
        return unread_change(ids[0].replace("-", " ") if ids else "", outcome), lacking
    return read_change(measure, outcome, float(case.ability), catalogue.settings, ended=ended), ()


def _table(root: Path, sheet: Sheet, when: str) -> Path:
    return root / "measures" / f"{sheet.task}.{sheet.candidate}.{when}.csv"
