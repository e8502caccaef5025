"""What the courses' marks give to a quality report, module by module: sheet values, scores, and judged candidates.

Only turns count that everybody has locked, and only outcomes of modules that every marker has locked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from assess.records.ids import base_task

if TYPE_CHECKING:
    from assess.agreement.again import Judged
    from assess.agreement.whole_rule import WrittenRule
    from assess.desk.quality_courses import LookedAt
    from assess.desk.session import Desk
    from assess.desk.sheet_scores import CourseScores
    from assess.marking.case import ModuleCase
    from assess.marking.results import ModuleResult
    from assess.marking.values import CountedSheet
    from assess.records.rubric import Rubric, SheetError

__all__ = ["QualityModule", "quality_modules"]

_Key = tuple[str, str, int, int, Fraction]


@dataclass
class QualityModule:
    """One module of all courses that hold it on the same scale with the same line.

    scale: its lowest and highest level. candidate, turn, value: the observed sheets of turns everybody has locked.
    scores: their single scores, by course.
    judged: candidates whose outcome rests on the numbers alone; left_out: why others are not among them, counted.
    n_sheets: sheets of each judged candidate's mean. written: the sheet errors the rubrics in force name, by rubric id.
    """

    name: str
    line: Fraction
    scale: tuple[int, int]
    candidate: list[str] = field(default_factory=list)
    turn: list[str] = field(default_factory=list)
    value: list[float] = field(default_factory=list)
    scores: list[CourseScores] = field(default_factory=list)
    judged: list[Judged] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    n_sheets: list[int] = field(default_factory=list)
    written: dict[str, SheetError] = field(default_factory=dict)


def quality_modules(courses: LookedAt) -> tuple[QualityModule, ...]:
    """The modules in the order of the first course that holds them; a name carries its activity where that differs."""
    found: dict[_Key, QualityModule] = {}
    activities = {desk.course.activity for desk in courses.desks}
    for desk in courses.desks:
        for module, rubric in _modules(desk):
            scale = rubric.scale
            key = (desk.course.activity, module, scale.min, scale.max, scale.pass_line)
            name = module if len(activities) == 1 else f"{desk.course.activity} {module}"
            marks = found.setdefault(key, QualityModule(name, scale.pass_line, (scale.min, scale.max)))
            if rubric.band is not None and module in rubric.band.sheet_error:
                marks.written[rubric.id] = rubric.band.sheet_error[module]
            _add_sheets(marks, courses, desk, module, rubric)
            _add_judged(marks, courses, desk, module)
    names = Counter(marks.name for marks in found.values())
    for marks in found.values():
        if names[marks.name] > 1:
            marks.name = f"{marks.name}, line {float(marks.line):g}"
    return tuple(found.values())


def _modules(desk: Desk) -> Iterator[tuple[str, Rubric]]:
    from assess.desk.outcomes import course_modules

    for module in course_modules(desk):
        task = next(task.id for task in desk.course.tasks if module in desk.rubric_for(task.id).modules_of(task.id))
        yield module, desk.rubric_for(task)


def _add_sheets(marks: QualityModule, courses: LookedAt, desk: Desk, module: str, rubric: Rubric) -> None:
    from assess.desk.locked_turns import locked_scores, locked_turns
    from assess.marking.values import sheet_value

    known, wanted = {task.id for task in desk.course.tasks}, set(rubric.modules[module].tasks)
    for sheets in locked_turns(desk):
        for sheet in sheets:
            value = sheet_value(sheet, rubric) if base_task(sheet.task, known) in wanted else None
            if value is not None:
                marks.candidate.append(courses.key(desk, sheet.candidate))
                marks.turn.append(sheet.task)
                marks.value.append(float(value))
    scores, _ = locked_scores(desk)
    own = tuple(sheet for sheet in scores.sheets if base_task(sheet.task, known) in wanted)
    if own:
        pins = [desk.course.pin(task) for task in wanted]
        used = {pin.reference for pin in pins if pin is not None}
        rubrics = {reference: held for reference, held in scores.rubrics.items() if reference in used}
        marks.scores.append(replace(scores, sheets=own, rubrics=rubrics))


def _add_judged(marks: QualityModule, courses: LookedAt, desk: Desk, module: str) -> None:
    from assess.desk.outcomes import HiddenModule, module_case, module_result_of

    for candidate in desk.course.candidates:
        result = module_result_of(desk, candidate, module)
        if isinstance(result, HiddenModule):
            continue
        case = module_case(desk, candidate, module)
        why = _not_by_numbers(result, case)
        if why:
            marks.left_out[why] += 1
            continue
        marks.judged.append(_judged(courses.key(desk, candidate), case, result))
        marks.n_sheets.append(result.n_sheets)


def _not_by_numbers(result: ModuleResult, case: ModuleCase) -> str:
    """Why a candidate's outcome says nothing about the numbers; empty when it does."""
    if result.outcome not in ("passed", "not_passed", "third_look") or result.mean is None:
        return "open"
    if result.breach is not None and result.breach.state == "confirmed":
        return "decided by a breach"
    if result.waived is not None:
        return "one of the markers counts by a waiver, and decides only what the others alone say"
    if case.rubric.third_look.median_if_apart is not None:
        return "third sheets would be joined by their median, which is not simulated"
    return ""


def _judged(key: str, case: ModuleCase, result: ModuleResult) -> Judged:
    from assess.agreement.again import Judged
    from assess.agreement.mark_model import ModuleMarks, SheetMarks
    from assess.marking.rule import module_rule
    from assess.marking.values import counted_sheets, given_levels

    counted = counted_sheets(case)
    given = {
        (sheet.task, sheet.assessor): given_levels(sheet)
        for slot in case.own_slots
        for sheet in (*slot.first_sheets, *slot.third_sheets)
    }
    sheets = tuple(
        SheetMarks(each.slot, each.task, each.assessor, given[each.slot, each.assessor], each.third) for each in counted
    )
    held: dict[str, list[CountedSheet]] = {}
    for each in counted:
        held.setdefault(each.slot, []).append(each)
    agreed = {
        (slot.task, k): Fraction(level)
        for slot in case.own_slots
        if slot.task in held
        for k, level in slot.moderated.items()
    }
    criteria = {slot: _markable(case.rubric, own) for slot, own in held.items()}
    mean = result.mean if result.mean is not None else Fraction(0)
    in_band = module_rule(case.rubric, case.module).in_band(mean, result.n_sheets)
    return Judged(
        ModuleMarks(key, sheets, criteria, agreed), _written(case.rubric, case.module), result.outcome, mean, in_band
    )


def _markable(rubric: Rubric, sheets: Sequence[CountedSheet]) -> tuple[str, ...]:
    """The criteria of a performance that were there to be seen."""
    criteria = rubric.tasks[sheets[0].task].criteria
    return tuple(k for k in criteria if not all(k in sheet.excluded for sheet in sheets))


def _written(rubric: Rubric, module: str) -> WrittenRule:
    from assess.agreement.whole_rule import WrittenRule
    from assess.marking.rule import module_rule

    rule = module_rule(rubric, module)
    weights = {criterion: rubric.weight(criterion) for criterion in rubric.criteria}
    scale = rubric.scale
    return WrittenRule(
        rule.line, rule.minimum, rule.inclusive, rule.allowed, rule.error, scale.min, scale.max, weights
    )  # fmt: skip
